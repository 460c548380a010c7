"""The first screen: this round's walk, what is due at each station, what was carried over, what is overdue."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.checklist.due import ROUND_STARTS, StationDue
from rounds.screens.messages import CloseRound, GoTo, PaperIn, StartRound
from rounds.screens.slow_line import SlowLine
from rounds.walk.carried import Carried, carried_over
from rounds.walk.round import closed_today, current_round, left_open, open_round
from rounds.walk.safekeeping import concerns
from rounds.walk.session import Session
from rounds.walk.signs import signs_today, standing_alarms
from rounds.walk.wording import date_text, round_of_day
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine

MOST_CARRIED = 4


class Stations(OptionList):
    """The stations; Enter starts the walk."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "select", "walk", id="walk.start")]


class WalkScreen(Screen[None]):
    """Shows the walk; Enter starts it or takes it up again."""

    CSS_PATH = "walk.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("n", "other_round", "other round", id="walk.other"),
        Binding("c", "close_round", "close", id="walk.close"),
        Binding("o", "open_station", "open it", id="walk.open"),
        Binding("g", "paper_in", "paper in", id="walk.grid"),
        Binding("d", "app.show('daybook')", "daybook", id="walk.daybook"),
        Binding("s", "app.show('shelf')", "shelf", id="walk.shelf"),
        Binding("t", "app.show('slow_change')", "slow change", id="walk.slow_change"),
        Binding("m", "app.show('markout')", "mark out", id="walk.markout"),
        Binding("r", "app.show('relief')", "relief", id="walk.relief"),
        Binding("q", "app.quit", "leave", id="walk.quit"),
    ]

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._chosen: tuple[date, str] | None = None
        self._seen: dict[str, str] = {}

    def compose(self) -> ComposeResult:
        """Head, state, carried over, stations, keys."""
        yield Head(self.session.farm.name)
        yield Static("", id="state")
        yield Static("", id="carried")
        yield SlowLine(self.session)
        yield Stations(id="stations", markup=False, compact=True)
        yield Static("", id="mistakes")
        yield KeyLine()

    def on_screen_resume(self) -> None:
        """Whatever was done elsewhere shows here."""
        self.renew()

    def renew(self) -> None:
        """Read the walk anew."""
        now, name = self.session.now(), self.round_name
        due = {each.station_id: each for each in self.session.due(name)}
        self._seen = signs_today(self.session)
        self.query_one(Head).say(self.session.farm.name, f"{date_text(now)} · {name} {now:%H:%M}")
        self.query_one("#state", Static).update(Content(self._state(name, due)))
        self._show_carried()
        self._show_stations(due)
        self._show_mistakes()
        self.query_one(SlowLine).look()
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A round can be closed only where one is open."""
        if action == "close_round":
            return True if open_round(self.session, self.round_name) or left_open(self.session) else None
        return True

    @on(OptionList.OptionSelected)
    def start(self) -> None:
        """Start, or take up again."""
        self.post_message(StartRound(self.round_name))

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
        stations = self.query_one("#stations", OptionList)
        if stations.highlighted is not None:
            station_id = str(stations.get_option_at_index(stations.highlighted).id)
            self.post_message(GoTo(station_id, self.round_name))

    def action_paper_in(self) -> None:
        """Type in the filled walk card of the round on the screen."""
        self.post_message(PaperIn(self.round_name))

    def action_close_round(self) -> None:
        """Close the round, with whatever is still open carried over."""
        self.post_message(CloseRound(self.round_name))

    def _state(self, name: str, due: dict[str, StationDue]) -> str:
        count = sum(len(each.items) for each in due.values())
        overdue = sum(item.overdue_days > 0 for each in due.values() for item in each.items)
        waiting = f"{count} things due at {len(due)} of {len(self.session.farm.stations)} stations"
        late = f", {overdue} of them overdue" if overdue else ""
        running = open_round(self.session, name)
        also = self._also_due(name) + self._left_open()
        if running is not None:
            return f"Started {running.started_at:%H:%M}. Still {waiting}{late}. Enter takes it up again.{also}"
        begins = f"{waiting[0].upper()}{waiting[1:]}{late}."
        if closed_today(self.session, name):
            return f"This {name}'s round is closed. {begins}{also}"
        return f"{begins} Enter starts the {name} round.{also}"

    def _also_due(self, name: str) -> str:
        """The round of this time of day, where another one is shown."""
        by_clock = self.session.round_name()
        waits = by_clock != name and not closed_today(self.session, by_clock)
        return f" The {by_clock} round is due too: n shows it." if waits else ""

    def _left_open(self) -> str:
        """A round that went on past midnight, or that nobody closed."""
        walk = next(iter(left_open(self.session)), None)
        return f" {round_of_day(walk.name, walk.day)} was left open: c closes it." if walk else ""

    def _show_carried(self) -> None:
        carried = carried_over(self.session)
        lines = [f"! {text}" for text in standing_alarms(self.session)]
        lines += [f"⧗ {text}" for text in self._open_corrections()]
        lines += [f"↪ {self._place(each)}: {each.what}" for each in carried[:MOST_CARRIED]]
        if len(carried) > MOST_CARRIED:
            lines.append(f"  and {len(carried) - MOST_CARRIED} more carried over")
        widget = self.query_one("#carried", Static)
        widget.update(Content("\n".join(lines)))
        widget.display = bool(lines)

    def _open_corrections(self) -> list[str]:
        marks = self.session.history.latest_marks()
        if not any(mark == "kind:correction" for _, mark in marks):
            return []
        from rounds.walk.correcting import open_corrections  # the advice is not needed before there was any

        found = []
        for each in open_corrections(self.session):
            station = self.session.farm.stations.get(each.station_id)
            name = station.name if station else each.station_id
            if each.next_step is not None:
                found.append(f"{name}: step {each.next_step.number} of {len(each.steps)} is next")
        return found

    def _show_stations(self, due: dict[str, StationDue]) -> None:
        stations = self.query_one("#stations", OptionList)
        here = stations.highlighted
        options = [Option(Content(self._line(each, due.get(each))), id=each) for each in self.session.walk_order()]
        stations.clear_options().add_options(options)
        first = next((n for n, option in enumerate(options) if option.id in due), 0)
        stations.highlighted = here if here is not None and here < len(options) else first
        stations.focus()

    def _show_mistakes(self) -> None:
        mistakes = self.session.mistakes
        warnings = [*self.session.history.warnings, *self.session.history.recovered, *concerns(self.session)]
        lines = [str(each) for each in mistakes[:2]]
        if len(mistakes) > 2:
            lines.append(f"and {len(mistakes) - 2} more mistakes in the farm's files: `rounds check` lists them all")
        widget = self.query_one("#mistakes", Static)
        widget.update(Content("\n".join(f"! {line}" for line in [*lines, *warnings])))
        widget.display = bool(lines or warnings)

    def _line(self, station_id: str, due: StationDue | None) -> str:
        station = self.session.farm.stations[station_id]
        sick = " (sick: last)" if station.sick else ""
        name = f"{station.name}{sick}"[:38]
        if due is None:
            return f"{self._seen.get(station_id, ' ')} {name:<40}"
        late = max(item.overdue_days for item in due.items)
        overdue = f"   overdue by {late} day{'s' if late > 1 else ''}" if late else ""
        return f"• {name:<40}{len(due.items):>3} due{overdue}"

    def _place(self, carried: Carried) -> str:
        station = self.session.farm.stations.get(carried.station_id)
        return station.name if station else self.session.farm.name
