"""The keys of the screen in front, and what the signs mean."""

from __future__ import annotations

from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

SIGNS = """\
•  asked by itself          ◦  answered by "all well"
✓  well, in its band        ▲ ▼  above, below its band
!  not well                 ?  hard to believe: say what was meant
✗  could not be read, or not saved
⧗  mixing                   ↪  carried over
↘ ↗  slowly down, slowly up"""


class KeysScreen(ModalScreen[None]):
    """Lists every key that does something here."""

    CSS_PATH = "keys.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,f1,enter,q", "dismiss(None)", "back", id="keys.back")]

    def __init__(self, of: Screen[Any]) -> None:
        super().__init__()
        self._lines = [
            f"{each.binding.key_display or each.binding.key:<12} {each.binding.description}"
            for each in of.active_bindings.values()
            if each.binding.description and each.enabled and each.node in (of, of.app)
        ]

    def compose(self) -> ComposeResult:
        """Keys, then signs."""
        with VerticalScroll(id="window"):
            yield Static(Content("\n".join(dict.fromkeys(self._lines)) + "\n\n" + SIGNS + "\n\nEsc goes back."))
