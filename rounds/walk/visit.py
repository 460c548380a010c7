"""One visit to a station: lines are taken, judged and written down; what is doubtful is asked about first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

import msgspec

from rounds.book.entries import JAR, Check, Reading, entry_of
from rounds.checklist.check_words import part_checks, read_check, word_for
from rounds.checklist.judgement import Judgement
from rounds.checklist.line_reader import TypedValue
from rounds.checklist.model import Item
from rounds.checklist.quick_line import BadLine, parse_line
from rounds.errors import BadInput
from rounds.farm.stations import Reservoir
from rounds.history.record import Draft, Record
from rounds.walk.answering import (
    JudgedAnswer,
    all_well_draft,
    as_it_is,
    draft_of,
    judged,
    note_draft,
    second_look,
    skip_draft,
    still_there,
    take_back,
)
from rounds.walk.asked_first import jar_as_asked, jar_as_before
from rounds.walk.bare_numbers import orders
from rounds.walk.doings.model import Place
from rounds.walk.expected import agree, read_before
from rounds.walk.session import Session
from rounds.walk.stops import Stop
from rounds.walk.wording import as_many_as_fit

CHECKS_ROOM = 64
"""Characters for the words of checks, so that they stand on one line of 80 columns."""
NEEDS_AN_ANSWER = ("doubtful", "impossible")


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What became of one line."""

    saved: tuple[tuple[Record, Judgement], ...] = ()
    doubtful: tuple[JudgedAnswer, ...] = ()
    """Not written down yet: the grower says first what was meant."""
    problems: tuple[str, ...] = ()
    """One sentence for each part that could not be read."""
    told: tuple[str, ...] = ()
    """Which readings count, where one was read again."""


@dataclass(kw_only=True)
class Visit:
    """Takes the answers of one person at one station during one visit."""

    session: Session
    stop: Stop
    round_id: str | None = None
    at: datetime | None = None
    """One time for everything, where a filled card is typed in; else the time of each line."""
    answers: dict[str, Record] = field(default_factory=dict)
    """What was written down on this visit, by item. Typing an item again replaces it."""
    _batches: list[list[Record]] = field(default_factory=list)

    @property
    def items(self) -> tuple[Item, ...]:
        """Everything that may be typed here, due or not."""
        here = self.session.items(self.stop.station)
        return here or tuple(line.item for line in self.stop.lines)

    @property
    def orders(self) -> list[list[str]]:
        """What bare numbers may mean now, the likeliest first; of another time all that is shown, due now or not."""
        if self.at is not None:
            return [[line.item.id for line in self.stop.lines if line.item.quick]]
        return orders(self.session, self.stop, self.answers)

    def take_line(self, text: str, *, named_only: bool = False) -> Taken:
        """Take everything that one line says; good parts are saved whatever else stands in it.

        Parameters
        ----------
        named_only : bool
            Refuse numbers without a name.

        Raises
        ------
        NotSaved
            Where nothing could be made durable; the line is still the caller's.
        """
        problems: list[str] = []
        answers: list[JudgedAnswer] = []
        rest = self._take_checks(text, answers, problems)
        if rest:
            self._take_numbers(rest, answers, problems, named_only=named_only)
        elif not answers and not problems:
            problems.append("Nothing was typed.")
        answers = self._with_a_place(answers, problems)
        sure = [a for a in answers if a.judgement.verdict not in NEEDS_AN_ANSWER]
        doubtful = tuple(a for a in answers if a.judgement.verdict in NEEDS_AN_ANSWER)
        told = self._second_looks(sure)
        return Taken(saved=self._save(sure), doubtful=doubtful, problems=tuple(problems), told=told)

    def take_field(self, item: Item, text: str) -> Taken:
        """Take the answer typed into the field of one item."""
        try:
            if item.type == "reading":
                value: float | int | str | bool = self._number(text, item).value
            else:
                value = read_check(text, item)
        except BadInput as error:
            return Taken(problems=(str(error),))
        answer = self._judged(item, value, text.strip())
        problems: list[str] = []
        if not self._with_a_place([answer], problems):
            return Taken(problems=tuple(problems))
        if answer.judgement.verdict in NEEDS_AN_ANSWER:
            return Taken(doubtful=(answer,))
        told = self._second_looks([answer])
        return Taken(saved=self._save([answer]), told=told)

    def keep(self, answer: JudgedAnswer) -> Taken:
        """Write a doubtful answer down as it is. What is impossible stays out."""
        if answer.judgement.verdict == "impossible":
            return Taken(problems=(f"{answer.judgement.text}.",))
        return Taken(saved=self._save([as_it_is(self.session, self.stop.station, answer)], kept=True))

    def take_likely(self, answer: JudgedAnswer) -> Taken:
        """Write down what was probably meant; what was typed is kept beside it."""
        if answer.judgement.likely is None:
            return Taken(problems=("Enter alone takes nothing here.",))
        return Taken(saved=self._save([self._judged(answer.item, answer.judgement.likely, answer.typed)]))

    def all_well(self) -> tuple[Record, ...]:
        """Say that everything which "all well" may answer is well."""
        items = [line.item for line in self.stop.covered if line.item.id not in self.answers]
        if not items:
            return ()
        draft = all_well_draft(self.session, self.stop.station_id, items, at=self._time(), round_id=self.round_id)
        records = self._write([draft])
        self.answers |= dict.fromkeys((item.id for item in items), records[0])
        return records

    def skip(self, reason: str) -> Record:
        """Leave the rest of this station out, with the reason."""
        draft = skip_draft(self.session, self.stop.station_id, reason, at=self._time(), round_id=self.round_id)
        return self._write([draft])[0]

    def note(self, text: str) -> Record:
        """Write a note on this station."""
        draft = note_draft(self.session, self.stop.station_id, text, at=self._time(), round_id=self.round_id)
        return self._write([draft])[0]

    @property
    def can_undo(self) -> bool:
        """Whether anything was written down on this visit that still counts."""
        return bool(self._batches)

    @property
    def place(self) -> Place:
        """Where and when what is done on this visit was done."""
        station = self.stop.station if self.stop.station_id else None
        return Place(
            session=self.session, station=station, at=self._time(), round_id=self.round_id, items=self.items
        )  # fmt: skip

    def write_doing(self, drafts: Sequence[Draft]) -> tuple[Record, ...]:
        """Write down what was done unasked, with what it answers here; the station is then as it has become."""
        records = self._write(list(drafts))
        self.answers |= {
            each.item: record for record in records if isinstance(each := entry_of(record), Reading | Check)
        }
        self._look_again()
        return records

    def take_out(self, record_id: str) -> None:
        """Take back one thing that was written down on this visit, whatever came after it."""
        record = next((each for batch in self._batches for each in batch if each.id == record_id), None)
        if record is None:
            return
        take_back(self.session, record)
        self._batches = [kept for batch in self._batches if (kept := [each for each in batch if each.id != record_id])]
        self.answers = {item: each for item, each in self.answers.items() if each.id != record_id}

    def _look_again(self) -> None:
        """The station as it is now: a flock may be smaller than it was."""
        if self.stop.station_id:
            station = self.session.farm.stations.get(self.stop.station_id, self.stop.station)
            self.stop = replace(self.stop, station=station)

    def undo(self) -> tuple[Record, ...]:
        """Take back what was written down last on this visit.

        Returns
        -------
        tuple of Record
            What no longer counts; empty where there was nothing.
        """
        if not self._batches:
            return ()
        batch = self._batches[-1]
        again = {record.replaces: restored for record in batch for restored in take_back(self.session, record)}
        self._batches = [[still_there(record, again) for record in each] for each in self._batches[:-1]]
        gone = {record.id for record in batch}
        self.answers = {item: record for item, record in self.answers.items() if record.id not in gone}
        self.answers |= {record.item: record for record in again.values()}
        earlier = {
            record.item: record for each in self._batches for record in each if isinstance(entry_of(record), Reading)
        }
        self.answers = {item: record for item, record in earlier.items() if item not in self.answers} | self.answers
        self._look_again()
        return tuple(batch)

    def _take_checks(self, text: str, answers: list[JudgedAnswer], problems: list[str]) -> str:
        parted = part_checks(text, self.items)
        problems += parted.problems
        answers += [self._judged(check.item, check.value, check.typed) for check in parted.entries]
        return parted.rest

    def _take_numbers(self, text: str, answers: list[JudgedAnswer], problems: list[str], *, named_only: bool) -> None:
        try:
            entries: tuple[TypedValue, ...] = self._parse(text, named_only=named_only)
        except BadLine as error:
            entries = error.good
            problems += [str(problem) for problem in error.problems]
        by_id = {item.id: item for item in self.items}
        answers += [self._judged(by_id[entry.item_id], _whole(entry, by_id), entry.typed) for entry in entries]

    def _parse(self, text: str, *, named_only: bool) -> tuple[TypedValue, ...]:
        """Bare numbers are those that the screen asks for; others are typed by name."""
        items = [item for item in self.items if item.is_number and item.names]
        meant: list[list[str]] = [[]] if named_only else self.orders
        checks = [word_for(line.item, self.items) for line in self.stop.lines if not line.item.is_number]
        gallon, told = self.session.farm.place.gallon, as_many_as_fit(checks, CHECKS_ROOM)
        return parse_line(text, items, gallon=gallon, refuse_impossible=False, checks=told, orders=meant)

    def _number(self, text: str, item: Item) -> TypedValue:
        gallon = self.session.farm.place.gallon
        (entry,) = parse_line(f"{item.names[0]} {text}", [item], gallon=gallon, refuse_impossible=False)
        return entry

    def _judged(self, item: Item, value: float | int | str | bool, typed: str) -> JudgedAnswer:
        return judged(self.session, self.stop.station, item, value, typed)

    def _with_a_place(self, answers: list[JudgedAnswer], problems: list[str]) -> list[JudgedAnswer]:
        """The answers without those that mean nothing alone, each with its sentence."""
        kept = []
        for answer in answers:
            try:
                self._beside(answer.item)
            except BadInput as error:
                problems.append(str(error))
            else:
                kept.append(answer)
        return kept

    def _beside(self, item: Item) -> dict[str, Any]:
        """What is kept beside an answer: of a jar test what was in the jar, which a second answer does not change."""
        if item.id != JAR or not isinstance(self.stop.station, Reservoir):
            return {}
        before = self.answers.get(JAR)
        return jar_as_asked(self.session, self.stop.station_id) if before is None else jar_as_before(before)

    def _save(self, answers: list[JudgedAnswer], *, kept: bool = False) -> tuple[tuple[Record, Judgement], ...]:
        if not answers:
            return ()
        drafts = [self._draft(answer, kept) for answer in answers]
        records = self._write(drafts)
        self.answers |= {record.item: record for record in records}
        return tuple(zip(records, (answer.judgement for answer in answers), strict=True))

    def _draft(self, answer: JudgedAnswer, kept: bool) -> Draft:
        beside = self._beside(answer.item)
        draft = draft_of(
            self.session, self.stop.station, answer, at=self._time(), round_id=self.round_id, kept=kept, data=beside
        )
        draft = msgspec.structs.replace(draft, station=self.stop.station_id)
        before = self.answers.get(answer.item.id)
        if before is None or before.item != answer.item.id or self._is_second_look(answer):
            return draft
        return msgspec.structs.replace(draft, replaces=before.id)

    def _is_second_look(self, answer: JudgedAnswer) -> bool:
        """Whether it says the same as before, read again: then both stand; what differs puts the first right."""
        before = read_before(self.session, self.stop.station, answer.item)
        return before is not None and agree(answer.item, before.value, answer.value)

    def _second_looks(self, answers: list[JudgedAnswer]) -> tuple[str, ...]:
        """Which readings count; of what replaces an answer of this visit nothing is said."""
        found = (
            second_look(self.session, self.stop.station, each)
            for each in answers
            if self._is_second_look(each) or each.item.id not in self.answers
        )
        return tuple(each for each in found if each) if self.at is None else ()

    def _write(self, drafts: list[Draft]) -> tuple[Record, ...]:
        records = self.session.save(*drafts)
        self._batches.append(list(records))
        return records

    def _time(self) -> datetime:
        return self.at or self.session.now()


def _whole(entry: TypedValue, by_id: dict[str, Item]) -> float | int:
    return int(entry.value) if by_id[entry.item_id].type == "count" else entry.value
