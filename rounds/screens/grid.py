"""A filled walk card typed in afterwards: one time for everything, numbers and Enter, then what was crossed as off."""

from __future__ import annotations

import re
from datetime import datetime
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from rounds.errors import RoundsError
from rounds.screens.grid_rows import GridField, GridRow, OffRow, rows_of
from rounds.screens.messages import BackToWalk
from rounds.walk.session import Session
from rounds.walk.stops import Stop, stop_at
from rounds.walk.visit import Taken, Visit
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine
from rounds.widgets.quick_line import QuickLine

TIME = re.compile("([0-9]{1,2})[:.]?([0-9]{2})")
"""07:10, 7:10, 7.10, 0710 and 710 are the same."""


class GridScreen(Screen[None]):
    """Takes the readings of all stations one below the other, then their checks."""

    CSS_PATH = "grid.tcss"
    PAGE: ClassVar[str] = "card"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "take", show=False, id="grid.take"),
        *bindings_of("card"),
        Binding("up", "move(-1)", show=False, id="grid.up"),
        Binding("down", "move(1)", show=False, id="grid.down"),
    ]

    def __init__(self, session: Session, round_name: str, round_id: str | None) -> None:
        super().__init__()
        self.session, self._round_id = session, round_id
        self._stops = [stop_at(session, round_name, each.station_id) for each in session.due(round_name)]
        self._visits = [self._desk(stop) for stop in self._stops]
        self._time_taken = f"{session.now():%H:%M}"

    def compose(self) -> ComposeResult:
        """The time first, then every reading in the order of the walk, then what was off."""
        yield Head("The filled walk card", "one time for everything")
        with Horizontal(id="time-row"):
            yield Static(Content("Read at (HH:MM)"), classes="label")
            yield GridField(self._time_taken, id="time", select_on_focus=True)
            yield Static("", id="message")
        with VerticalScroll(id="rows", can_focus=False):
            yield from rows_of(self._visits)
        yield Static("", id="hint")
        yield KeyLine()

    def on_mount(self) -> None:
        """The time comes first."""
        if not self._stops:
            self._say("Nothing is due on this round, so there is no card to type in. Esc goes back.")
        self.set_focus(self.query_one("#time"))

    def on_descendant_focus(self) -> None:
        """Say what can be typed where the cursor is now."""
        row = self.focused.parent if self.focused else None
        self._hint(row.hint if isinstance(row, GridRow) else "")

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
                self.set_focus(field)
                return False
            for visit in self._visits:
                visit.at = at
            self._time_taken = field.value
            self._say(f"Everything below counts as read at {at:%H:%M}.")
        return True

    def action_all_well(self) -> None:
        """Everything that "all well" may answer is well at every station of the card."""
        if not self._take_time():
            return
        try:
            count = sum(len(visit.all_well()) > 0 for visit in self._visits)
            asked = sum(row.still_asked for row in self.query(OffRow))
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._say(f"All well at {count} stations" + (f"; {asked} checks still asked." if asked else "."))

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
            taken = row.take(text)
        except RoundsError as error:
            taken = Taken(problems=(str(error),))
        if taken.problems:
            row.refuse("✗ see below")
            self._hint("\n".join(f"✗ {problem}" for problem in taken.problems))
        elif taken.doubtful:
            judgement = taken.doubtful[0].judgement
            likely = f" {judgement.likely:g}?" if judgement.likely is not None else ""
            row.refuse("? see below")
            self._hint(f"? {judgement.text}.{likely} Type it again: the same value keeps it.")
        else:
            row.say(" ".join(f"{judgement.sign} {judgement.brief}" for _, judgement in taken.saved))
            self.action_move(1)

    def _hint(self, text: str) -> None:
        self.query_one("#hint", Static).update(Content(text))

    def _say(self, text: str) -> None:
        self.query_one("#message", Static).update(Content(text))

    def _desk(self, stop: Stop) -> Visit:
        return Visit(session=self.session, stop=stop, round_id=self._round_id, at=self.session.now())


def _time_today(text: str, now: datetime) -> datetime:
    read = TIME.fullmatch(text.strip())
    if read is None:
        raise ValueError("not a time")
    at = now.replace(hour=int(read[1]), minute=int(read[2]), second=0, microsecond=0)
    if at > now:
        raise ValueError("later than now")
    return at
