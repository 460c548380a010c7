"""The dialogue of one station: its line, all well, left out, a note, taking back, and the way on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import timedelta

import msgspec

from rounds.checklist.model import Item
from rounds.errors import RoundsError
from rounds.farm.stations import Reservoir
from rounds.history.record import Draft, Record
from rounds.walk.conversation import Conversation
from rounds.walk.dialogue import Aside, Onward, Question, Reply, ToStation, ToWalk, Way, choices_of
from rounds.walk.doings.model import Place
from rounds.walk.doings.with_doings import WithDoings
from rounds.walk.finding import find
from rounds.walk.fresh import FRESH_H
from rounds.walk.measuring.leading import is_measure, reply_to
from rounds.walk.station_text import help_with, order_of, row_of, subtitle_of, title_of
from rounds.walk.undoing import ask_to_take_back, last_written
from rounds.walk.visit import Visit

DIP = "dip"
YES_NO_ALONE = ("1", "0")
"""Yes and no, with one key."""
CHOICES = choices_of("station")


class AtStation(WithDoings):
    """Takes the answers of one station."""

    def __init__(self, visit: Visit) -> None:
        super().__init__()
        self.visit = visit
        self.conversation = Conversation(visit)
        self.was_warned = False
        """Whether it was said that something is not written down: the second time it is meant."""

    @property
    def opening(self) -> tuple[str, ...]:
        """The station's name, what to know of it, and its items."""
        session, stop = self.visit.session, self.visit.stop
        about = subtitle_of(session, stop)
        return (title_of(stop), *about.splitlines(), *(row_of(session, stop, line).line for line in stop.lines))

    def own_question(self) -> Question:
        """What is hard to believe, then what is asked outright, else the line for everything."""
        questions = self.conversation.questions
        code = "doubtful" if questions.doubtful is not None else "asked" if questions.open else "station"
        return Question(code=code, text=questions.text, hint=order_of(self.visit), choices=CHOICES)

    @property
    def not_saved(self) -> str:
        """What was typed and is not written down yet."""
        return self.unsaved_doing or self.conversation.not_saved

    def place_of_doing(self) -> Place:
        """This station, at the time of the visit."""
        return self.visit.place

    def is_answer(self, text: str) -> bool:
        """Whether a line is one of the choices that are asked for: `dead`, of how the hens look."""
        asked = self.conversation.questions.asked
        return asked is not None and text.casefold() in (choice.casefold() for choice in asked.choices)

    def save_doing(self, drafts: Sequence[Draft]) -> Sequence[Record]:
        """Write a doing down as a part of the visit, so that it is taken back with the rest of it."""
        return self.visit.write_doing(drafts)

    def after_doing(self, records: Sequence[Record], said: Reply) -> Reply:
        """What is still open of the station is asked again."""
        return self.conversation.after_doing(records, said)

    def take(self, text: str) -> Reply:
        """Take the line; a `+` behind it says that all the rest is well, `measure` leads to what is measured here."""
        if is_measure(text):
            return self._led(reply_to(self.visit.session, text, self.visit.stop.station_id))
        sign, words = text[:1], text[1:].strip()
        if sign == "/":
            return self._led(find(self.visit.session, words))
        if sign == "*" and words:
            return self._noted(words)
        if sign == "-" and words and not (words[0].isdigit() or words[0] in ".,"):
            return self._warning() or self._skipped(words)
        before, plus, _ = text.rpartition("+") if text.endswith("+") and text != "+" else (text, "", "")
        dip = self.visit.answers.get(DIP)
        said = self._asked_of_a_rise(dip, self.conversation.line(before.strip()))
        if not plus or not said.accepted or said.finished:
            return said
        rest = self.conversation.all_well()
        return Reply(message=rest.message, shown=said.shown + rest.shown, way=rest.way)

    @property
    def typed_keys(self) -> frozenset[str]:
        """Commands that may be typed: the line is always open."""
        return frozenset({"u", "-", "+", "*", "/"})

    @property
    def keys_alone(self) -> tuple[str, ...]:
        """A check that is asked outright takes 1 or 0 without Enter: one key of the number pad."""
        questions = self.conversation.questions
        if self.in_hand is not None or self.aside is not None or questions.doubtful is not None:
            return super().keys_alone
        return YES_NO_ALONE if questions.asked is not None and questions.asked.type == "yes_no" else ()

    def help(self, item_id: str = "") -> tuple[str, ...]:
        """What is asked now, or the item that is named: what is measured, how, why, and what to do when it is off."""
        asked, lines = self.conversation.questions.asked, self.visit.stop.lines
        named = item_id or (asked.id if asked is not None else "")
        line = next((each for each in lines if each.item.id == named), None)
        return help_with(self.visit.session, self.visit.stop, line or next(iter(self.conversation.open_lines), None))

    def take_field(self, item: Item, text: str) -> Reply:
        """Take the answer typed for one item."""
        dip = self.visit.answers.get(DIP)
        return self._told(self._asked_of_a_rise(dip, self.conversation.field(item, text)))

    def take_out(self, record_id: str) -> None:
        """Take back a reading that is explained away; it is asked again."""
        self.visit.take_out(record_id)

    def _asked_of_a_rise(self, before: Record | None, said: Reply) -> Reply:
        """Ask what it was where a dip that was just saved rose, and nothing on record says why."""
        dip, reservoir = self.visit.answers.get(DIP), self.visit.stop.station
        if dip is None or dip is before or self.visit.at is not None or not isinstance(reservoir, Reservoir):
            return said
        from rounds.walk.doings.rose import before_the_dip, read_rise, unexplained  # only where a dip was read

        rise, place = unexplained(self.visit.session, reservoir, dip), self.visit.place
        return said if rise is None else self.hold(read_rise(place, rise), said, before_the_dip(place, rise))

    def take_key(self, key: str) -> Reply:
        """Take one of the keys."""
        doings: dict[str, Callable[[], Reply]] = {
            "+": self.conversation.all_well,
            "-": self._skip,
            "*": self._note,
            "/": lambda: find(self.visit.session, ""),
            "u": self._undo,
            "f9": self._correct,
            "esc": lambda: self._on(ToWalk()),
        }
        return doings[key]() if key in doings else super().take_key(key)

    @property
    def why_no_correction(self) -> str:
        """Why no correction can be worked out now; empty where it can."""
        stop = self.visit.stop
        if not isinstance(stop.station, Reservoir):
            return "There is nothing to correct by dose here; what is off says what to do."
        read = self.visit.session.history.latest(stop.station_id, "ph", kind="reading")
        if read is None or read.measured_at < self.visit.session.now() - timedelta(hours=FRESH_H):
            return "Read pH and EC first; then the correction can be worked out."
        return ""

    def lead(self, way: Way) -> Reply:
        """Go elsewhere, unless something is not written down yet."""
        return self._on(way)

    def _led(self, said: Reply) -> Reply:
        """Where a reply leads away from here, what is not written down is warned of first."""
        return said if said.way is None else self._on(said.way)

    def _undo(self) -> Reply:
        """Take the last thing of this visit back; where there is none, ask about what was written here today."""
        if self.conversation.was_written_to:
            return self.conversation.undo()
        station_id = self.visit.stop.station_id
        found = last_written(self.visit.session, station_id=station_id)
        if not found:
            return self.conversation.undo()
        way: Way = ToStation(station_id) if station_id else ToWalk()
        return self.ask(ask_to_take_back(self.visit.session, found, lambda said: _with_way(said, way)))

    def _skip(self) -> Reply:
        question = f"Why is {self.visit.stop.station.name} left out?"
        return self._warning() or self.ask(Aside(code="skip", text=question, take=self._skipped))

    def _skipped(self, reason: str) -> Reply:
        return self._saved(lambda: self.visit.skip(reason), Reply(way=self._onward))

    def _note(self) -> Reply:
        question = f"Note on {self.visit.stop.station.name}"
        return self.ask(Aside(code="note", text=question, take=self._noted))

    def _noted(self, text: str) -> Reply:
        return self._saved(lambda: self.visit.note(text), Reply(message="Noted."))

    def _correct(self) -> Reply:
        why = self.why_no_correction
        return Reply(message=why) if why else self._on(self._onward)

    def _on(self, way: Way) -> Reply:
        return self._warning() or Reply(way=way)

    @property
    def _onward(self) -> Onward:
        return Onward(self.visit.stop.station_id, read=True)

    def _warning(self) -> Reply | None:
        """Warn once of what is not written down; the second time it is meant."""
        lost = self.conversation.not_saved
        if not lost or self.was_warned:
            return None
        self.was_warned = True
        again = f"{self.conversation.questions.text}\nThe same key again leaves it unwritten."
        return Reply(message=f"✗ {lost}. {again}", accepted=False)

    def _saved(self, save: Callable[[], object], then: Reply) -> Reply:
        try:
            save()
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        return then


def _with_way(said: Reply, way: Way) -> Reply:
    return msgspec.structs.replace(said, way=way)
