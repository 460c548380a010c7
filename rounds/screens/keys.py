"""Help: what is in focus, then the keys of the screen in front, and what the signs mean."""

from __future__ import annotations

from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from rounds.walk.doings.table import help_lines
from rounds.walk.doings.with_doings import WithDoings
from rounds.walk.key_table import PAGES, told_of
from rounds.widgets.commands import commands_of

SIGNS = """\
•  asked by itself          ◦  answered by "all well"
✓  well, in its band        ▲ ▼  above, below its band
!  not well                 ?  hard to believe: say what was meant
✗  could not be read, or not saved
⧗  mixing                   ↪  carried over
↘ ↗  slowly down, slowly up"""
DONE_UNASKED = "What was done, a verb first:"
LINE = "A lone letter and Enter is a command; signs act at once on the empty line; anything longer is what you type."


class KeysScreen(ModalScreen[None]):
    """Tells what is in focus, and every key that does something here."""

    CSS_PATH = "keys.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f1,question_mark,enter,q", "dismiss(None)", "back", id="keys.back"),
        Binding("space", "read_on", show=False, id="keys.read_on"),
    ]

    def __init__(self, of: Screen[Any]) -> None:
        super().__init__()
        told = getattr(of, "help_lines", None)
        self._about = tuple(told()) if callable(told) else ()
        self._keys = _keys_of(of)
        if isinstance(getattr(of, "dialogue", None), WithDoings):
            self._keys += ["", DONE_UNASKED, *help_lines()]

    def compose(self) -> ComposeResult:
        """What is in focus, keys and verbs, signs."""
        with VerticalScroll(id="window"):
            if self._about:
                yield Static(Content("\n".join(self._about)), id="about")
            yield Static(Content("\n".join([*self._keys, "", SIGNS, "", "Esc goes back."])))

    def action_read_on(self) -> None:
        """Show what has no room."""
        self.query_one("#window").scroll_page_down(animate=False)


def _keys_of(of: Screen[Any]) -> list[str]:
    """The keys of a page that has its place in the table, as they stand there; of another what is bound."""
    page = getattr(of, "PAGE", "")
    here = {each.word: each for each in commands_of(of)}
    if page not in PAGES:
        return [f"{each.key:<12} {each.word}" for each in here.values()]
    typed = [f"{each.key + ' Enter':<12} {each.word}" for each in here.values() if each.active is None]
    table = [f"{key:<12} {word}: {told}" for key, word, told in told_of(page) if word in here or key == "Enter"]
    lines = [LINE] if PAGES[page].keyboard == "line" else []
    return [*lines, *typed, *(line for line in table if line not in typed)]
