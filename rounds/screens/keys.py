"""The keys of the screen in front, and what the signs mean."""

from __future__ import annotations

from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from rounds.widgets.key_line import key_name, typed_commands
from rounds.widgets.quick_line import QuickLine

SIGNS = """\
•  asked by itself          ◦  answered by "all well"
✓  well, in its band        ▲ ▼  above, below its band
!  not well                 ?  hard to believe: say what was meant
✗  could not be read, or not saved
⧗  mixing                   ↪  carried over
↘ ↗  slowly down, slowly up"""

PLAIN = {"Focus Next": "next field", "Focus Previous": "field before"}
LEFT_OUT = ("Copy selected text",)
TAKE = f"{'Enter':<12} take what is typed; where nothing is, go on"


class KeysScreen(ModalScreen[None]):
    """Lists every key that does something here."""

    CSS_PATH = "keys.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,f1,enter,q", "dismiss(None)", "back", id="keys.back")]

    def __init__(self, of: Screen[Any]) -> None:
        super().__init__()
        here = [
            each.binding
            for each in of.active_bindings.values()
            if each.binding.description and each.enabled and (each.node in (of, of.app) or each.binding.show)
        ]
        typed = [f"{key:<12} {word}" for key, word in typed_commands(of)]
        enter = [] if any(each.key == "enter" for each in here) or typed or not of.query(QuickLine) else [TAKE]
        self._lines = [*enter, *typed] + [
            f"{_key_of(each):<12} {PLAIN.get(each.description, each.description)}"
            for each in here
            if each.description not in LEFT_OUT
        ]

    def compose(self) -> ComposeResult:
        """Keys, then signs."""
        with VerticalScroll(id="window"):
            yield Static(Content("\n".join(dict.fromkeys(self._lines)) + "\n\n" + SIGNS + "\n\nEsc goes back."))


def _key_of(binding: Binding) -> str:
    return binding.key_display or key_name(binding.key)
