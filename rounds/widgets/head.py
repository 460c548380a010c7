"""The two lines at the top of every screen: where one is, and what is mixing meanwhile."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Static

from rounds.widgets.writing import write


class Head(Vertical):
    """A title on the left, the round and the time on the right, and a line for waits that run."""

    DEFAULT_CSS = """
    Head { height: auto; dock: top; background: $panel; }
    Head > Static { height: 1; padding: 0 1; }
    Head > #waits { display: none; text-style: bold; }
    Head.-waiting > #waits { display: block; }
    """

    def __init__(self, title: str, right: str = "") -> None:
        super().__init__()
        self._title, self._right, self._waits = title, right, ""

    def compose(self) -> ComposeResult:
        """Two lines of text."""
        yield Static(id="title")
        yield Static(id="waits")

    def on_mount(self) -> None:
        """Show what is known already."""
        self._write()

    def on_resize(self) -> None:
        """The right side moves with the width."""
        self._write()

    def say(self, title: str, right: str) -> None:
        """Change both sides."""
        self._title, self._right = title, right
        self._write()

    def say_waits(self, text: str) -> None:
        """Show what is mixing and for how long; an empty text takes the line away."""
        self._waits = text
        self._write()

    def _write(self) -> None:
        room = max(0, self.size.width - 2 - len(self._right))
        title = self._title if len(self._title) < room else self._title[: max(0, room - 2)] + "…"
        line = title.ljust(room) + self._right
        if not self.children:
            return  # a tick of the clock may come before the lines are there
        write(self.query_one("#title", Static), Content(line).stylize("bold", 0, len(title)), same_room=True)
        waits = Content(_as_much_as_fits(self._waits, self.size.width - 2))
        write(self.query_one("#waits", Static), waits, same_room=True)
        self.set_class(bool(self._waits), "-waiting")


def _as_much_as_fits(text: str, room: int) -> str:
    """Whole parts of what is told, and how many more there are."""
    parts, told = text.split(" · "), len(text.split(" · "))
    while told > 1 and len(_told(parts, told)) > room:
        told -= 1
    return _told(parts, told)


def _told(parts: list[str], told: int) -> str:
    more = len(parts) - told
    return " · ".join(parts[:told]) + (f" · and {more} more" if more else "")
