"""A filled relief sheet typed in: one day at a time, numbers and Enter only; the time is asked once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input, Static

from rounds.checklist.model import Item
from rounds.errors import RoundsError
from rounds.farm.model import Person
from rounds.farm.stations import Reservoir
from rounds.relief.typed_in import PaperDay, as_person, at_time, paper_days, pour
from rounds.walk.session import Session
from rounds.walk.visit import Taken, Visit
from rounds.walk.wording import answer_text
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine
from rounds.widgets.quick_line import QuickLine


class PaperRow(Horizontal):
    """One line of the sheet: a reading, what was off at a station, or what was poured."""

    def __init__(self, visit: Visit, label: str, before: str, *, item: Item | None = None, pours: bool = False) -> None:
        super().__init__()
        self.visit, self.item, self.pours = visit, item, pours
        self._label, self._before = label, before
        self.doubted = ""

    def compose(self) -> ComposeResult:
        """Station, label, field, last value, what became of it."""
        yield Static(Content(self.visit.stop.station.name), classes="station")
        yield Static(Content(self._label), classes="label")
        yield QuickLine(select_on_focus=True)
        yield Static(Content(self._before), classes="last")
        yield Static("", classes="said")

    def say(self, text: str) -> None:
        """Show what became of the field."""
        self.query_one(".said", Static).update(Content(text))


class PaperDaysScreen(Screen[None]):
    """Takes a filled sheet, day by day."""

    CSS_PATH = "paper_days.tcss"
    PAGE: ClassVar[str] = "paper"
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings_of("paper", {"part-back": "day(-1)", "part-on": "day(1)", "back": "leave"}),
        Binding("pagedown", "day(1)", show=False, id="paper.next"),
        Binding("up", "move(-1)", show=False, id="paper.up"),
        Binding("down", "move(1)", show=False, id="paper.down"),
    ]

    def __init__(self, session: Session, person: Person, days: Sequence[date]) -> None:
        super().__init__()
        self.session = as_person(session, person)
        self._days = paper_days(self.session, days)
        self._at_day = 0
        self._time = "07:30"

    @property
    def paper(self) -> PaperDay:
        """The day that is typed in."""
        return self._days[self._at_day]

    def compose(self) -> ComposeResult:
        """The time first, then every line of the day."""
        yield Head("The filled relief sheet", f"filled in by {self.session.person_name()}")
        with Horizontal(id="time-row"):
            yield Static("", id="day")
            yield QuickLine(self._time, id="time", select_on_focus=True)
            yield Static("", id="message")
        yield VerticalScroll(id="rows", can_focus=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        """Begin with the first day."""
        await self._show_day()

    @on(Input.Submitted, "#time")
    def take_time(self, event: Input.Submitted) -> None:
        """Set the one time of the day; the next days begin with the same."""
        if self._set_time(event.value):
            self.action_move(1)

    @on(Input.Submitted, "PaperRow QuickLine")
    def take(self, event: Input.Submitted) -> None:
        """Take one line; an empty one is left out."""
        row = event.input.parent
        assert isinstance(row, PaperRow)
        text = event.value.strip()
        if not text:
            self.action_move(1)
        elif row.pours:
            self._tried(row, lambda: self._poured(row, text))
        else:
            self._tried(row, lambda: self._taken(row, text))

    def action_all_well(self) -> None:
        """Every check of the day that was not typed as off was well."""
        if not self._set_time(self.query_one("#time", QuickLine).value):
            return
        try:
            count = sum(len(visit.all_well()) > 0 for visit in self.paper.visits)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._say(f"All well at {count} stations.")

    async def action_day(self, by: int) -> None:
        """Another day."""
        following = self._at_day + by
        if not 0 <= following < len(self._days):
            self._say("There is no other day on this sheet.")
            return
        self._at_day = following
        await self._show_day()

    def action_leave(self) -> None:
        """Back to the relief screen."""
        self.app.pop_screen()

    def action_move(self, by: int) -> None:
        """Move between the fields."""
        fields = list(self.query(QuickLine))
        here = fields.index(self.focused) if isinstance(self.focused, QuickLine) else 0
        fields[(here + by) % len(fields)].focus()

    async def _show_day(self) -> None:
        rows = self.query_one("#rows", VerticalScroll)
        await rows.remove_children()
        await rows.mount_all(row for visit in self.paper.visits for row in _rows(visit))
        day = self.paper.day
        self.query_one("#day", Static).update(Content(f"{day:%a} {day.day} {day:%b}, read at"))
        self.query_one("#time", QuickLine).value = self._time
        self.query_one("#time").focus()
        self._say(f"Day {self._at_day + 1} of {len(self._days)}")

    def _set_time(self, text: str) -> bool:
        try:
            at = at_time(self.paper, text, self.session)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return False
        self._time = f"{at:%H:%M}"
        return True

    def _tried(self, row: PaperRow, take: Callable[[], str]) -> None:
        if not self._set_time(self.query_one("#time", QuickLine).value):
            return
        try:
            said = take()
        except RoundsError as error:
            row.say(f"✗ {error}")
            return
        row.say(said)
        if not said.startswith(("✗", "?")):
            self.action_move(1)

    def _taken(self, row: PaperRow, text: str) -> str:
        taken = row.visit.take_field(row.item, text) if row.item else row.visit.take_line(text)
        if taken.doubtful and row.doubted == text:
            taken = row.visit.keep(taken.doubtful[0])
        row.doubted = text if taken.doubtful else ""
        return _said(taken)

    def _poured(self, row: PaperRow, text: str) -> str:
        station = row.visit.stop.station
        assert isinstance(station, Reservoir)
        at = row.visit.at
        assert isinstance(at, datetime)
        records = pour(self.session, station, text, at)
        marked = [mark for record in records for mark in record.marks]
        return f"! {marked[0]}" if marked else f"✓ {len(records)} written down"

    def _say(self, text: str) -> None:
        self.query_one("#message", Static).update(Content(text))


def _rows(visit: Visit) -> list[PaperRow]:
    readings = [line for line in visit.stop.lines if line.item.type == "reading"]
    rows = [
        PaperRow(visit, f"{line.item.label} {line.item.unit}", answer_text(line.item, line.last), item=line.item)
        for line in readings
    ]
    if len(readings) < len(visit.stop.lines):
        rows.append(PaperRow(visit, "off, by its name", ""))
    if isinstance(visit.stop.station, Reservoir):
        rows.append(PaperRow(visit, "poured: L, A, B", "", pours=True))
    return rows


def _said(taken: Taken) -> str:
    if taken.problems:
        return "✗ " + taken.problems[0]
    if taken.doubtful:
        found = taken.doubtful[0].judgement
        return f"? {found.text}. Again: keeps it."
    return " ".join(f"{judgement.sign} {judgement.brief}" for _, judgement in taken.saved)
