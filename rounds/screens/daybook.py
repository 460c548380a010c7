"""The daybook: a page for each day; what is looked for, in all years; a wrong entry is replaced, never rubbed out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.events import Resize
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.history.record import Record
from rounds.screens.daybook_line import LineScreen
from rounds.screens.daybook_right import PuttingRight
from rounds.screens.daybook_rows import Row, heading, row_text, rows_of_page
from rounds.screens.messages import BackToWalk
from rounds.screens.prompt import PromptScreen
from rounds.walk.daybook.days import read_day
from rounds.walk.daybook.page import day_page
from rounds.walk.daybook.searching import Found, look, sections_found
from rounds.walk.daybook.story import story_of
from rounds.walk.daybook.wanted import Wanted, read_wanted
from rounds.walk.round import Round
from rounds.walk.session import Session
from rounds.walk.wording import date_text
from rounds.widgets.background import in_background
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine

MOST_FOUND = 200
"""So many lines are shown before the search waits to be told to go on."""
_LOOK_FOR = "What is looked for? Words; or a station, a person, readings, checks, notes, findings, doings, corrections"


class DaybookScreen(Screen[None]):
    """Shows one day, or what was looked for."""

    CSS_PATH = "daybook.tcss"
    PAGE: ClassVar[str] = "daybook"
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings_of(
            "daybook",
            {
                "before": "day(-1)",
                "after": "day(1)",
                "another": "go",
                "look-for": "find",
                "read-on": "older",
                "other-value": "replace",
                "undo": "app.undo",
            },
            elsewhere=("enter",),
            first=("left", "right"),
        ),
    ]

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._today = session.day_began().astimezone(session.zone).date()
        self._day = self._today
        self._wanted = Wanted()
        self._found: list[Record] = []
        self._months: tuple[str, ...] = ()
        self._most = MOST_FOUND
        self._unfolded: set[str] = set()
        self._rows: list[Row] = []
        self._right = PuttingRight(self, session, after=self._after, say=self._say)

    def compose(self) -> ComposeResult:
        """Head, what the day was, lines, message, keys."""
        yield Head("Daybook")
        yield Static("", id="told")
        yield OptionList(id="lines", markup=False, compact=True)
        yield Static("", id="message")
        yield KeyLine()

    def on_mount(self) -> None:
        """Show today."""
        self._show()

    def on_resize(self, _: Resize) -> None:
        """The columns follow the width."""
        self._show(keep=True)

    def typed_commands(self) -> list[tuple[str, str]]:
        """What the list itself does with Enter."""
        return [("Enter", "open")]

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Days change where one is shown; a search goes on where it has waited."""
        if action == "day":
            return not self._wanted
        return action != "older" or bool(self._wanted and self._months)

    def action_day(self, by: int) -> None:
        """The day before, or after; none that has not come."""
        self._go_to(min(self._day + timedelta(days=by), self._today))

    def action_go(self) -> None:
        """Go to a day that is named."""
        prompt = PromptScreen("Which day?", "Such as  last tue,  2 oct,  -10", check=lambda t: read_day(t, self._today))
        self.app.push_screen(prompt, lambda text: self._go_to(read_day(text, self._today)) if text else None)

    def action_find(self) -> None:
        """Look for something in all years."""
        self.app.push_screen(PromptScreen(_LOOK_FOR), self._look_for)

    def action_older(self) -> None:
        """Let the search go on."""
        self._most += MOST_FOUND
        self._look_on()

    def action_replace(self) -> None:
        """Enter the right answer, then the reason; the wrong one stays visible as replaced."""
        record = self._one_under_bar()
        if record is not None:
            self._right.ask(record)

    def action_take_back(self) -> None:
        """Say that an entry does not count, and why."""
        record = self._one_under_bar()
        if record is not None:
            self._right.ask_back(record)

    def action_back(self) -> None:
        """From what was looked for back to the day; from the day back to the walk."""
        if self._wanted:
            self._go_to(self._day)
        else:
            self.post_message(BackToWalk())

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Unfold a line that tells several entries; open one that tells one."""
        row = self._rows[event.option_index]
        if row.line is None:
            return
        if row.line.is_folded:
            self._unfolded.add(row.line.records[0].id)
            self._show(keep=True)
            return
        record = row.line.records[0]
        self.app.push_screen(LineScreen(story_of(self.session, record)), lambda what: self._do(record, what))

    def _do(self, record: Record, what: str | None) -> None:
        if what == "right":
            self._right.ask(record)
        elif what == "back":
            self._right.ask_back(record)

    def _go_to(self, day: date) -> None:
        self._day, self._wanted, self._months = day, Wanted(), ()
        self._show()

    def _look_for(self, line: str | None) -> None:
        if line is None:
            return
        self._wanted, self._found, self._most = read_wanted(self.session, line), [], MOST_FOUND
        self._months = tuple(self.session.history.months())
        self._show()
        self._look_on()

    def renew(self) -> None:
        """Something was taken back."""
        self._show(keep=True)

    def _look_on(self) -> None:
        """Look through the next month beside the screen, and so on until enough is found."""
        session, wanted, months = self.session, self._wanted, self._months
        if not wanted or not months or len(self._found) >= self._most:
            self._say_how_far()
            return
        in_background(self, "looking through the record", lambda: look(session, wanted, months),
                      lambda found: self._take_found(wanted, months, found), failed=self._say)  # fmt: skip

    def _take_found(self, wanted: Wanted, months: tuple[str, ...], found: Found) -> None:
        """Show what came, unless something else is looked for by now."""
        if self._wanted != wanted or self._months != months or not self.is_mounted:
            return
        self._months = found.left
        self._found += found.records
        if found.records:
            self._show(keep=True)
        self._look_on()

    def _after(self, old: Record, new: Sequence[Record]) -> None:
        """Show the page anew; among what was found the new entries take the place of the old."""
        place = next((n for n, each in enumerate(self._found) if each.id == old.id), None)
        if place is not None:
            self._found[place : place + 1] = new
        self._show(keep=True)

    def _show(self, *, keep: bool = False) -> None:
        lines = self.query_one("#lines", OptionList)
        bar = lines.highlighted
        self._rows = self._rows_found() if self._wanted else self._rows_of_day()
        lines.clear_options()
        lines.add_options(self._options())
        first = next((place for place, row in enumerate(self._rows) if row.line is not None), None)
        kept = bar is not None and keep and bar < len(self._rows) and self._rows[bar].line is not None
        lines.highlighted = bar if kept else first
        self.refresh_bindings()
        if not keep:
            self._say("" if self._rows or self._wanted else "Nothing was written down on this day.")

    def _options(self) -> list[Option]:
        width = max(40, self.size.width - 1)
        return [
            Option(heading(row.name), disabled=True) if row.line is None else Option(row_text(row, width))
            for row in self._rows
        ]

    def _rows_of_day(self) -> list[Row]:
        page = day_page(self.session, self._day)
        before, after = self._day - timedelta(days=1), self._day + timedelta(days=1)
        on = f"    {after:%a} {after.day} →" if after <= self._today else ""
        self.query_one(Head).say(f"Daybook   {date_text(page.day)}", f"← {before:%a} {before.day}{on}")
        self.query_one("#told", Static).update(Content(page.summary))
        return rows_of_page(self.session, page, self._unfolded)

    def _rows_found(self) -> list[Row]:
        self.query_one(Head).say(f"Daybook   {self._wanted.told(self.session)}", "the newest first")
        rows: list[Row] = []
        for day, section in sections_found(self.session, self._found):
            rows += [Row(name=day)] if day else []
            rows += [Row(line, section.name) for line in section.lines]
        return rows

    def _say_how_far(self) -> None:
        if self._wanted:
            count = f"{len(self._found)} found" if self._found else "Nothing was found"
            self.query_one("#told", Static).update(
                Content(f"{count}{'; o looks further back' if self._months else ''}")
            )

    def _one_under_bar(self) -> Record | None:
        """The entry under the bar; where several are told in one line, they are unfolded first."""
        index = self.query_one("#lines", OptionList).highlighted
        line = self._rows[index].line if index is not None and index < len(self._rows) else None
        if line is None:
            return None
        if line.is_folded:
            self._unfolded.add(line.records[0].id)
            self._show(keep=True)
            self._say("Each of them has its own line now: choose the one.")
            return None
        return line.records[0]

    def _say(self, text: str) -> None:
        self.query_one("#message", Static).update(Content(text))


def build(session: Session, _walk: Round | None) -> Screen[Any]:
    """The screen for the registry."""
    return DaybookScreen(session)
