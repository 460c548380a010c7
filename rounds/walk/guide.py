"""Who knows the way: from one stop of a round to the next, to a correction that waits, to the summary."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from rounds.farm.farm import FaultyFiles
from rounds.farm.stations import Reservoir
from rounds.walk.dialogue import Anew, Begin, Onward, ToEnd, ToMeasure, ToStation, Way
from rounds.walk.left_open import close_left_open
from rounds.walk.offering import offer
from rounds.walk.open_corrections import OpenCorrection, open_correction_of, open_corrections, uncorrected, wants_offer
from rounds.walk.rechecks import Call, calls
from rounds.walk.round import Round, current_round, left_open, open_round, start_round
from rounds.walk.session import Session
from rounds.walk.stops import Stop, alive_stop, next_station, stop_at
from rounds.walk.waits import mixing_waits

if TYPE_CHECKING:
    from rounds.book.half_pair import HalfPair


@dataclass(frozen=True, slots=True)
class TheSummary:
    """Nothing is due any more: the round can be closed."""

    round: Round


@dataclass(frozen=True, slots=True)
class TheWalk:
    """Back to the whole walk."""


Destination = Stop | OpenCorrection | TheSummary | ToMeasure | TheWalk


class Guide:
    """Leads one person through one round; each question is answered from the history."""

    def __init__(self, session: Session, walk: Round | None) -> None:
        self.session = session
        self.round = walk
        self.shown: str | None = None
        """The round that the walk shows, where another one than that of the day was chosen."""
        self._called: set[Call] = set()
        self._not_begun = False
        """Whether what went in alone came before the beginning of the round, which comes next."""
        self.said: list[str] = []
        """Why a reservoir that was read got no correction, for whoever shows the next screen."""
        self.told: list[str] = []
        """What was done on the way, for whoever shows the next screen."""

    @property
    def round_name(self) -> str:
        """The round that is walked, or that this time of day has."""
        return self.round.name if self.round else self.shown or current_round(self.session)

    @property
    def round_id(self) -> str | None:
        """Id of the round that is open."""
        return self.round.id if self.round else None

    @property
    def _day(self) -> date | None:
        """The day of the round that is walked, which may be yesterday's past midnight."""
        return self.round.day if self.round else None

    def lead(self, way: Way) -> Destination:
        """Where a dialogue leads to.

        Raises
        ------
        RoundsError
            Where that way cannot be gone now; whoever walks stays where they are.
        """
        match way:
            case Begin(name):
                self.turn_to(name)
                self.told += close_left_open(self.session)
                return self.start(name)
            case Onward(after, read):
                return self.walk_on(after, read=read)
            case ToStation(station_id, _, name):
                if name is not None:
                    self.turn_to(name)
                return self.go_to(station_id)
            case Anew(station_id):
                return self.work_out_again(station_id)
            case ToEnd(name):
                self.turn_to(name)
                walk = self.round or next(iter(left_open(self.session)), None)
                return TheSummary(walk) if walk else TheWalk()
            case ToMeasure():
                return way
        return TheWalk()

    def turn_to(self, name: str) -> None:
        """Whatever is written from here on belongs to the round of that name, where it is open."""
        self.shown = name
        self.round = open_round(self.session, name)

    def start(self, name: str) -> Destination:
        """Start the round, or take it up where it was.

        What went in alone gets its other half before all else.

        Raises
        ------
        NotSaved
            Where the start could not be written down.
        """
        self.round = start_round(self.session, name)
        other_half = self._other_half()
        self._not_begun = other_half is not None
        return other_half or self._begin(self.round)

    def _begin(self, walk: Round) -> Destination:
        """What is alive first, then what was read but not corrected.

        Where such a reservoir has open checks, these come before its correction, as on an unbroken visit.
        """
        self._not_begun = False
        alive = alive_stop(self.session, walk.name, walk.day)
        if alive.open_lines:
            return alive
        offered = (each.station_id for each in open_corrections(self.session) if not each.done)
        read = [*(reservoir.id for reservoir in uncorrected(self.session)), *offered]
        return next((each for each in map(self._take_up, read) if each is not None), None) or self.go_on(None)

    def _other_half(self) -> OpenCorrection | None:
        """The correction that pours what is owed where A or B went in alone; none while it mixes there."""
        from rounds.walk.half_pairs import half_pairs  # not needed before the first screen

        now = self.session.now()
        mixing = {wait.station_id for wait in mixing_waits(self.session) if wait.until > now}
        waiting = (pair for pair in half_pairs(self.session) if pair.reservoir_id not in mixing)
        return next((found for found in map(self._pouring, waiting) if found is not None), None)

    def _pouring(self, pair: HalfPair) -> OpenCorrection | None:
        """The open correction that still pours the other half, or a new one."""
        existing = open_correction_of(self.session, pair.reservoir_id)
        steps = existing.steps if existing is not None else ()
        if existing is not None and any(s.action == pair.action and s.number not in existing.done for s in steps):
            return existing
        return offer(self.session, self.session.farm.reservoir(pair.reservoir_id), self.round_id)

    def _take_up(self, reservoir_id: str) -> Stop | OpenCorrection | None:
        """What comes next at a reservoir where nothing has been poured since it was read."""
        stop = self.go_to(reservoir_id)
        existing = open_correction_of(self.session, reservoir_id)
        if stop.open_lines and (existing is None or not existing.done):
            return stop
        return existing or self.correction_of(self.session.farm.reservoir(reservoir_id))

    def go_to(self, station_id: str) -> Stop:
        """One station out of turn."""
        return stop_at(self.session, self.round_name, station_id, day=self._day)

    def walk_on(self, after: str, *, read: bool) -> Destination:
        """From a station to its correction, where it was just read and is off, or to the next one."""
        station = self.session.farm.stations.get(after)
        correction = self.correction_of(station) if read and isinstance(station, Reservoir) else None
        return correction or self.go_on(after or None)

    def work_out_again(self, station_id: str) -> Destination:
        """The correction of a reservoir anew, since something that it hung on is known now."""
        reservoir = self.session.farm.reservoir(station_id)
        anew = offer(self.session, reservoir, self.round_id)
        begun = open_correction_of(self.session, station_id)
        return anew or (begun if begun is not None and begun.done else self.go_on(station_id))

    def correction_of(self, reservoir: Reservoir) -> OpenCorrection | None:
        """The correction that is open at a reservoir, or a new one where it was read since."""
        existing = open_correction_of(self.session, reservoir.id)
        if existing is not None:
            return existing
        if not wants_offer(self.session, reservoir.id):
            return None
        try:
            return offer(self.session, reservoir, self.round_id)
        except FaultyFiles as error:  # whoever reads the farm's files can mend it; the other stations wait meanwhile
            self.said.append(f"{reservoir.name}: {error}")
            return None

    def go_on(self, after: str | None) -> Destination:
        """A reservoir that calls back comes first, each once; then the next station; then the summary."""
        if self._not_begun and self.round is not None:
            return self._begin(self.round)
        called = next((call for call in calls(self.session) if call not in self._called), None)
        if called is not None:
            self._called.add(called)
            return self._answer(called)
        following = next_station(self.session, self.round_name, after, day=self._day)
        if following is not None:
            return self.go_to(following)
        return TheSummary(self.round) if self.round is not None else TheWalk()

    def _answer(self, call: Call) -> Destination:
        correction = open_correction_of(self.session, call.station_id)
        step = correction.next_step if correction is not None else None
        if correction is None or step is None or call.what == "read again" or step.action == "read_again":
            return self.go_to(call.station_id)
        return correction
