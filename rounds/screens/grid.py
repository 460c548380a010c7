"""A filled walk card typed in afterwards: one time for everything, numbers and Enter only."""

from __future__ import annotations

import re
from datetime import datetime
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.events import Resize
from textual.screen import Screen
from textual.widgets import Static

from rounds.checklist.model import Item
from rounds.errors import RoundsError
from rounds.screens.messages import BackToWalk
from rounds.walk.desk import Desk, Taken
from rounds.walk.session import Session
from rounds.walk.stops import Stop, stop_at
from rounds.walk.wording import answer_text
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine
from rounds.widgets.quick_line import QuickLine

TIME = re.compile("([0-9]{1,2})[:.]?([0-9]{2})")
"""07:10, 7:10, 7.10, 0710 and 710 are the same."""

NARROW = 76
"""Columns below which not every part of a row has room."""


class GridRow(Horizontal):
    """One reading of one station."""

    def __init__(self, desk: Desk, item: Item, before: str) -> None:
        super().__init__()
        self.desk, self.item, self._before = desk, item, before
        self.doubted = ""
        """What was typed and is hard to believe: the same again keeps it."""

    def compose(self) -> ComposeResult:
        """Station, item, field, last value, judgement."""
        yield Static(Content(self.desk.stop.station.name), classes="station")
        yield Static(Content(f"{self.item.label} {f'({self.item.unit})' if self.item.unit else ''}"), classes="label")
        yield QuickLine(select_on_focus=True)
        yield Static(Content(self._before), classes="last")
        yield Static("", classes="said")

    def on_resize(self, event: Resize) -> None:
        """Where there is little room the last value goes first."""
        self.set_class(event.size.width < NARROW, "-narrow")

    def say(self, text: str) -> None:
        """Show what became of the field."""
        self.query_one(".said", Static).update(Content(text))


class GridScreen(Screen[None]):
    """Takes the readings of all stations one below the other."""

    CSS_PATH = "grid.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "take", "next", id="grid.take"),
        Binding("f2", "all_well", "checks all well", id="grid.well"),
        Binding("escape", "back", "back", id="grid.back"),
        Binding("up", "move(-1)", show=False, id="grid.up"),
        Binding("down", "move(1)", show=False, id="grid.down"),
    ]

    def __init__(self, session: Session, round_name: str, round_id: str | None) -> None:
        super().__init__()
        self.session, self._round_id = session, round_id
        self._stops = [stop_at(session, round_name, each.station_id) for each in session.due(round_name)]
        self._desks = [self._desk(stop) for stop in self._stops]
        self._time_taken = f"{session.now():%H:%M}"

    def compose(self) -> ComposeResult:
        """The time first, then every reading in the order of the walk."""
        yield Head("The filled walk card", "one time for everything")
        with Horizontal(id="time-row"):
            yield Static(Content("Read at (HH:MM)"), classes="label")
            yield QuickLine(self._time_taken, id="time", select_on_focus=True)
            yield Static("", id="message")
        with VerticalScroll(id="rows", can_focus=False):
            for desk in self._desks:
                for line in desk.stop.open_lines:
                    if line.item.is_number and line.item.names and line.item.ask == "always":
                        yield GridRow(desk, line.item, answer_text(line.item, line.last))
        yield KeyLine()

    def on_mount(self) -> None:
        """The time comes first."""
        self.query_one("#time").focus()

    def action_take(self) -> None:
        """Take the field in focus; an empty one is left out. The focus moves at once, for whoever types ahead."""
        field = self.focused
        if not self._take_time():
            return
        if isinstance(field, QuickLine) and isinstance(field.parent, GridRow) and field.value.strip():
            self._take(field.parent, field.value.strip())
        else:
            self.action_move(1)

    def _take_time(self) -> bool:
        """Let what stands in the field of the time hold for all that follows; False where it cannot be."""
        field = self.query_one("#time", QuickLine)
        if field.value != self._time_taken:
            try:
                at = _time_today(field.value, self.session.now())
            except ValueError:
                self._say("✗ A time such as 07:10 is expected, not later than now. Nothing below it is taken.")
                field.focus()
                return False
            for desk in self._desks:
                desk.at = at
            self._time_taken = field.value
            self._say(f"Everything below counts as read at {at:%H:%M}.")
        return True

    def action_all_well(self) -> None:
        """Everything that "all well" may answer is well at every station of the card."""
        if not self._take_time():
            return
        try:
            count = sum(len(desk.all_well()) > 0 for desk in self._desks)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._say(f"All well at {count} stations.")

    def action_back(self) -> None:
        """Back to the walk."""
        self.post_message(BackToWalk())

    def action_move(self, by: int) -> None:
        """Move between the fields."""
        fields = list(self.query(QuickLine))
        here = fields.index(self.focused) if isinstance(self.focused, QuickLine) else 0
        self.set_focus(fields[(here + by) % len(fields)])

    def _take(self, row: GridRow, text: str) -> None:
        try:
            taken = self._taken(row, text)
        except RoundsError as error:
            row.say(f"✗ {error}")
            return
        if taken.problems:
            row.say("✗ " + taken.problems[0])
        elif taken.doubtful:
            judgement = taken.doubtful[0].judgement
            likely = f" {judgement.likely:g}?" if judgement.likely is not None else ""
            row.say(f"? {judgement.text}.{likely} Type it again: the same value keeps it.")
            row.doubted = text
        else:
            _, judgement = taken.saved[0]
            row.say(f"{judgement.sign} {judgement.brief}")
            self.action_move(1)

    def _taken(self, row: GridRow, text: str) -> Taken:
        taken = row.desk.take_field(row.item, text)
        if taken.doubtful and row.doubted == text:
            return row.desk.keep(taken.doubtful[0])
        return taken

    def _say(self, text: str) -> None:
        self.query_one("#message", Static).update(Content(text))

    def _desk(self, stop: Stop) -> Desk:
        return Desk(session=self.session, stop=stop, round_id=self._round_id, at=self.session.now())


def _time_today(text: str, now: datetime) -> datetime:
    read = TIME.fullmatch(text.strip())
    if read is None:
        raise ValueError("not a time")
    at = now.replace(hour=int(read[1]), minute=int(read[2]), second=0, microsecond=0)
    if at > now:
        raise ValueError("later than now")
    return at
