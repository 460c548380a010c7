"""Still to sort: the whole list, the worst first; below it what is known of the one under the bar, and how it ends."""

from __future__ import annotations

from textwrap import wrap
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.screens.asking import ask_in_between
from rounds.screens.messages import BackToWalk, Lead
from rounds.walk.dialogue import Reply
from rounds.walk.overview import shortened
from rounds.walk.round import Round
from rounds.walk.session import Session
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.sorting import Sorting
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.changes import FollowsChanges
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine

_HEADS = 11
"""Characters before what is known of a matter."""
_COLUMN = 38
"""Characters of a reason, where two stand side by side."""


class Matters(OptionList):
    """The list; Enter opens the station of the one under the bar."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "select", "open station", id="to_sort.open")]


class ToSortScreen(FollowsChanges, Screen[None]):
    """A list, and what there is to know of one of it."""

    CSS_PATH = "to_sort.tcss"
    PAGE: ClassVar[str] = "to_sort"
    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(str(n), f"close({n})", "close", key_display="1-9", show=n == 1, id=f"to_sort.reason{n}")
          for n in range(1, 10)),
        *bindings_of("to_sort", {"put-off": "later"}, elsewhere=("enter",)),
    ]  # fmt: skip

    def __init__(self, session: Session, round_id: str | None = None) -> None:
        super().__init__()
        self.session = session
        self.dialogue = Sorting(session, round_id)
        self._listed: list[OpenMatter] = []

    def compose(self) -> ComposeResult:
        """Head, list, what is known, message, keys."""
        yield Head("Still to sort")
        yield Matters(id="matters", markup=False, compact=True)
        with VerticalScroll(id="about", can_focus=False):
            yield Static("", id="known")
        yield Static("", id="message")
        yield KeyLine()

    def on_mount(self) -> None:
        """Show what there is."""
        self.renew()
        self._say("")

    def on_written(self) -> None:
        """What is written by another window shows at once."""
        if self.is_current:
            self.renew()

    def on_resize(self) -> None:
        """Lines as long as there is room for."""
        self.renew()

    def renew(self) -> None:
        """Read the list anew; the bar stays where it was."""
        self._listed = self.dialogue.matters
        listed = self.query_one("#matters", OptionList)
        here = listed.highlighted or 0
        width = self.app.size.width
        listed.clear_options().add_options([Option(Content(self._row(each, width))) for each in self._listed])
        if self._listed:
            listed.highlighted = min(here, len(self._listed) - 1)
        listed.focus()
        many = len(self._listed)
        self.query_one(Head).say("Still to sort", f"{many}, the worst first" if many > 1 else str(many or "nothing"))
        self._show()

    @on(OptionList.OptionHighlighted)
    def _show(self) -> None:
        """What is known of the one under the bar, and why it may be closed."""
        matter, width = self._under_bar(), self.app.size.width
        lines = self._about(matter, width) if matter is not None else ["Nothing is still to sort."]
        later = self.dialogue.later_line
        lines += ["", *wrap(later, width - 4)] if later else []
        self.query_one("#known", Static).update(Content("\n".join(lines)))
        self.query_one("#about", VerticalScroll).scroll_home(animate=False)
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what stands there can be closed, and only by its reasons."""
        matter = self._under_bar() if action in ("close", "later") else None
        if action == "close":
            return matter is not None and int(str(parameters[0])) <= len(self.dialogue.reasons(matter))
        return matter is not None if action == "later" else True

    @on(OptionList.OptionSelected)
    def open_station(self) -> None:
        """Open its station."""
        matter = self._under_bar()
        way = self.dialogue.way_to(matter) if matter is not None else None
        if way is None:
            self._say("It is about the farm as a whole: the round asks for it first.")
        else:
            self.post_message(Lead(way))

    def action_close(self, digit: int) -> None:
        """Close it for one of its reasons."""
        matter = self._under_bar()
        if matter is not None:
            self._answer(self.dialogue.close(matter, digit))

    def action_later(self) -> None:
        """Leave it for a later day."""
        matter = self._under_bar()
        if matter is not None:
            self._answer(self.dialogue.later(matter))

    def action_undo(self) -> None:
        """Take the last back."""
        self._answer(self.dialogue.undo())

    def action_back(self) -> None:
        """Back to the walk."""
        self.post_message(BackToWalk())

    def _answer(self, said: Reply) -> None:
        self._say(said.message)
        ask_in_between(self, self.dialogue, self._answer)
        if self.dialogue.aside is None:
            self.renew()

    def _say(self, text: str) -> None:
        message = self.query_one("#message", Static)
        message.update(Content(text))
        message.display = bool(text)

    def _row(self, matter: OpenMatter, width: int) -> str:
        sign, text, age = self.dialogue.row(matter)
        room = max(10, width - 4 - len(age))
        return f"{sign} {shortened(text, room - 3):<{room - 2}}{age}"

    def _about(self, matter: OpenMatter, width: int) -> list[str]:
        room = max(20, width - 4 - _HEADS)
        lines: list[str] = []
        for head, text in (("What", self.dialogue.row(matter)[1]), *self.dialogue.about(matter)):
            told = [line for part in text.splitlines() for line in wrap(part, room)]
            lines += [f"{head if n == 0 else '':<{_HEADS}}{line}" for n, line in enumerate(told)]
        reasons = [f"{n}  {each}" for n, each in enumerate(self.dialogue.reasons(matter), 1)]
        return [*lines, "", "Close it because", *_in_columns(reasons, width - 4)]

    def _under_bar(self) -> OpenMatter | None:
        index = self.query_one("#matters", OptionList).highlighted
        return self._listed[index] if index is not None and index < len(self._listed) else None


def _in_columns(texts: list[str], width: int) -> list[str]:
    """Side by side where there is room for two."""
    if width < 2 * _COLUMN or len(texts) < 4:
        return texts
    half = (len(texts) + 1) // 2
    right = [*texts[half:], ""]
    return [f"{left:<{_COLUMN}}{right[n]}".rstrip() for n, left in enumerate(texts[:half])]


def build(session: Session, walk: Round | None) -> Screen[Any]:
    """The screen for the registry."""
    return ToSortScreen(session, walk.id if walk else None)
