"""The keys of the screen in front, and what the signs mean."""

from __future__ import annotations

from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import ActiveBinding, Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from rounds.walk.doings.table import help_lines
from rounds.walk.doings.with_doings import WithDoings
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
DONE_UNASKED = "What was done, a verb first:"
TAKE = f"{'Enter':<12} take what is typed; where nothing is, go on"


class KeysScreen(ModalScreen[None]):
    """Lists every key that does something here."""

    CSS_PATH = "keys.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,f1,enter,q", "dismiss(None)", "back", id="keys.back")]

    def __init__(self, of: Screen[Any]) -> None:
        super().__init__()
        here = [each.binding for each in of.active_bindings.values() if _is_told(each, of)]
        typed = [f"{key:<12} {word}" for key, word in typed_commands(of)]
        takes_lines = bool(of.query(QuickLine)) and not typed and all(each.key != "enter" for each in here)
        self._lines = [*([TAKE] if takes_lines else []), *typed, *(_line(each) for each in here)]
        if isinstance(getattr(of, "dialogue", None), WithDoings):
            self._lines += ["", DONE_UNASKED, *help_lines()]

    def compose(self) -> ComposeResult:
        """Keys and verbs, then signs."""
        with VerticalScroll(id="window"):
            yield Static(Content("\n".join(dict.fromkeys(self._lines)) + "\n\n" + SIGNS + "\n\nEsc goes back."))


def _is_told(active: ActiveBinding, of: Screen[Any]) -> bool:
    """Whether a key does something here that is worth a line."""
    binding = active.binding
    if not binding.description or binding.description in LEFT_OUT or not active.enabled:
        return False
    return active.node in (of, of.app) or binding.show


def _line(binding: Binding) -> str:
    return f"{_key_of(binding):<12} {PLAIN.get(binding.description, binding.description)}"


def _key_of(binding: Binding) -> str:
    return binding.key_display or key_name(binding.key)
