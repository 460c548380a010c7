"""The first screen: this round's walk, what is due at each station, what was carried over, what is overdue."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.checklist.due import ROUND_STARTS, StationDue
from rounds.screens.choosing import find_station
from rounds.screens.messages import Lead, PaperIn
from rounds.screens.slow_line import SlowLine
from rounds.text import clean_line
from rounds.walk.dialogue import Begin, ToEnd, ToStation
from rounds.walk.half_pairs import are_known
from rounds.walk.missing import not_readable
from rounds.walk.overview import (
    SHORT,
    WIDEST_NAME,
    about_station,
    file_lines,
    first_lines,
    heading,
    most_to_sort,
    shortened,
    state_text,
    station_line,
    to_sort_lines,
)
from rounds.walk.round import current_round, left_open, open_round
from rounds.walk.session import Session
from rounds.walk.station_signs import signs_today
from rounds.widgets.background import in_background
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.changes import FollowsChanges
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine
from rounds.widgets.writing import write


class Stations(OptionList):
    """The stations; Enter starts the walk."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "select", "walk", id="walk.start")]


class WalkScreen(FollowsChanges, Screen[None]):
    """Shows the walk; Enter starts it or takes it up again."""

    CSS_PATH = "walk.tcss"
    PAGE: ClassVar[str] = "walk"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of("walk", {
        "another": "other_round", "close": "close_round", "open": "open_station", "card": "paper_in",
        "daybook": "app.show('daybook')", "shelf": "app.show('shelf')", "to-sort": "app.show('to_sort')",
        "slow": "app.show('slow_change')",
        "lay-out": "app.show('markout')", "relief": "app.show('relief')", "undo": "app.undo", "leave": "app.quit",
    }, elsewhere=("enter",))  # fmt: skip

    class MonthsOpened(Message):
        """The record was read back as far as half a pair may lie: what stands above all else."""

        def __init__(self, lines: list[str]) -> None:
            super().__init__()
            self.lines = lines

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._chosen: tuple[date, str] | None = None
        self._seen: dict[str, str] = {}
        self._months_are_open, self._first, self._state = False, list[str](), ""
        self._can_close = False
        self._drawn_for: tuple[int, int] | None = None
        """The columns and lines for which it was written; None before the first time."""

    def compose(self) -> ComposeResult:
        """Head, state, carried over, stations, keys."""
        yield Head(self.session.farm.name)
        yield Static("", id="state")
        yield Static("", id="to-sort")
        yield SlowLine(self.session)
        yield Stations(id="stations", markup=False, compact=True)
        yield Static("", id="mistakes")
        yield KeyLine()

    def on_screen_resume(self) -> None:
        """Whatever was done elsewhere shows here."""
        self.renew()

    def on_written(self) -> None:
        """What is written while this stands here, by another window or behind a question, shows at once."""
        if self.is_current:
            self.renew()

    def on_resize(self) -> None:
        """Other words where there is less room."""
        if self._drawn_for not in (None, tuple(self.app.size)):
            self.renew()

    def renew(self) -> None:
        """Read the walk anew."""
        now, name, width = self.session.now(), self.round_name, self.app.size.width
        self._drawn_for = width, self.app.size.height
        due = {each.station_id: each for each in self.session.due(name, still=self._is_known)}
        self._seen = signs_today(self.session)
        self._can_close = bool(open_round(self.session, name) or left_open(self.session))
        self.query_one(Head).say(self.session.farm.name, heading(now, name, width=width))
        self._show_state(state_text(self.session, name, list(due.values()), width=width))
        self._show_to_sort()
        self._show_stations(due)
        self._show_mistakes()
        self.query_one(SlowLine).look()
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A round can be closed only where one is open."""
        if action == "close_round":
            return True if self._can_close else None
        return True

    @on(OptionList.OptionSelected)
    def start(self) -> None:
        """Start, or take up again."""
        self.post_message(Lead(Begin(self.round_name)))

    @property
    def round_name(self) -> str:
        """The round on the screen: the one of this time of day, or another that was chosen today."""
        if self._chosen is not None and self._chosen[0] == self.session.now().date():
            return self._chosen[1]
        return current_round(self.session)

    def action_other_round(self) -> None:
        """Show the next of morning, midday and dusk."""
        names = list(ROUND_STARTS)
        self._chosen = self.session.now().date(), names[(names.index(self.round_name) + 1) % len(names)]
        self.renew()

    def action_open_station(self) -> None:
        """Open the station under the bar, out of turn."""
        self.take_line("")

    def action_find(self) -> None:
        """Look for a station and go there."""
        find_station(self, self.session, lambda way: self.post_message(Lead(way)), round_name=self.round_name)

    @property
    def line_for(self) -> str:
        """The name of the station under the bar, which takes a line."""
        station_id = self._under_bar
        return self.session.farm.stations[station_id].name if station_id else ""

    def take_line(self, text: str) -> None:
        """Open the station under the bar with a line that was typed for it."""
        station_id = self._under_bar
        if station_id:
            self.post_message(Lead(ToStation(station_id, text, round_name=self.round_name)))

    def help_lines(self) -> tuple[str, ...]:
        """The station under the bar: what is due there, and how it is looked at."""
        station_id = self._under_bar
        return about_station(self.session, station_id, self.round_name) if station_id else ()

    @property
    def _under_bar(self) -> str:
        stations = self.query_one("#stations", OptionList)
        here = stations.highlighted
        station_id = str(stations.get_option_at_index(here).id) if here is not None else ""
        return station_id if station_id in self.session.farm.stations else ""

    def action_paper_in(self) -> None:
        """Type in the filled walk card of the round on the screen."""
        self.post_message(PaperIn(self.round_name))

    def action_close_round(self) -> None:
        """Close the round, with whatever is still open carried over."""
        self.post_message(Lead(ToEnd(self.round_name)))

    def _show_state(self, text: str) -> None:
        """How the round stands, and above it what went in alone; where months must be read for it, after the paint."""
        self._state = text
        is_known = self._is_known
        if is_known:
            self._first = first_lines(self.session)
        write(self.query_one("#state", Static), Content("\n".join([*self._first, text])))
        if not is_known:
            self.call_after_refresh(self._open_months)

    @property
    def _is_known(self) -> bool:
        """Whether what the whole record says is known without opening months."""
        return self._months_are_open or (are_known(self.session) and self.session.unsettled().is_known)

    def _read_months(self) -> list[str]:
        """Read the record as far as it must be; this runs in a thread."""
        self.session.unsettled().read_all()
        return first_lines(self.session)

    def _open_months(self) -> None:
        work = self._read_months
        in_background(self, "reading the months", work, lambda lines: self.post_message(self.MonthsOpened(lines)))

    def on_walk_screen_months_opened(self, event: MonthsOpened) -> None:
        """What went in alone can be told now without waiting for the disk."""
        self._months_are_open, self._first = True, event.lines
        self.renew()

    def _show_to_sort(self) -> None:
        """What is still to sort, beside the walk; where months must be read for it, after the paint."""
        width, height = self.app.size
        most = most_to_sort(height, width=width)
        lines = to_sort_lines(self.session, width=width, most=most) if self._is_known else []
        widget = self.query_one("#to-sort", Static)
        write(widget, Content("\n".join(lines)))
        widget.display = bool(lines)

    def _show_stations(self, due: dict[str, StationDue]) -> None:
        stations = self.query_one("#stations", OptionList)
        here = stations.highlighted
        options = [Option(Content(self._line(each, due.get(each))), id=each) for each in self.session.walk_order()]
        stations.clear_options().add_options([*options, *map(_not_readable, not_readable(self.session))])
        first = next((n for n, option in enumerate(options) if option.id in due), 0)
        stations.highlighted = here if here is not None and here < len(options) else first
        stations.focus()

    def _show_mistakes(self) -> None:
        lines = file_lines(self.session)
        width, height = self.app.size
        if height < SHORT:
            lines = [shortened(line, width - 2) for line in lines]
        widget = self.query_one("#mistakes", Static)
        write(widget, Content("\n".join(lines)))
        widget.display = bool(lines)

    def _line(self, station_id: str, due: StationDue | None) -> str:
        station, sign = self.session.farm.stations[station_id], self._seen.get(station_id, " ")
        return station_line(station, sign, due, width=self.app.size.width)


def _not_readable(station_id: str) -> Option:
    """A line for a station that cannot be walked: an empty place would look like none."""
    return Option(Content(f"✗ {clean_line(station_id, WIDEST_NAME)}: not readable"), disabled=True)
