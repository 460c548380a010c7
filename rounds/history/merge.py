"""Bringing two histories together: a union of records that never change, seen first and then taken in as a whole."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import msgspec

from rounds.errors import BadInput, NotFound
from rounds.history.admission import Admission, RefusedRecord
from rounds.history.arriving import Lines, bodies_from, record_in
from rounds.history.counters import LARGEST_JUMP
from rounds.history.device import DEVICE_PATTERN
from rounds.history.door import is_newer, let_through, usual_record
from rounds.history.files import Key
from rounds.history.ids import ID_PATTERN
from rounds.history.incoming import HISTORY_ENTRY
from rounds.history.journal import parse, sealed
from rounds.history.library import Library
from rounds.history.lock import PATIENT_S
from rounds.history.month import Doc
from rounds.history.record import FORMAT, HIGHEST_COUNT, Draft, Moment, Record, checked, is_keepable, month_of
from rounds.history.staging import Arrivals
from rounds.history.store import History
from rounds.history.strict import STORED, strict_doc
from rounds.text import clean_line

LONGEST_ID_SHOWN = 40
"""Of a foreign id, so that it leaves room for the sentence around it. [characters]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class MergePreview:
    """What a merge would do."""

    new: Sequence[Record]
    known: int
    replaced: tuple[Record, ...]
    """Those of the new ones that replace a record or take it back."""
    conflicts: tuple[str, ...]
    """Ids that both sides replaced; the record of highest rank will stand, the others stay visible in its chain."""
    refused: tuple[RefusedRecord, ...]
    sentences: tuple[str, ...]
    parts: tuple[Arrivals, ...] = field(default=(), repr=False)
    statements: tuple[bytes, ...] = field(default=(), repr=False)


def preview(history: History, other: Path, admission: Admission | None = None) -> MergePreview:
    """Compare another history with this one; nothing is written.

    Parameters
    ----------
    history : History
        The one that would take records in.
    other : Path
        A farm folder, a history folder, the folder of one device, a journal, or a zip with any of them.
    admission : Admission, optional
        Who may say what; everybody may say anything where not given.

    Raises
    ------
    NotFound
        Where there is nothing, or no history in it.
    BadInput
        Where a zip breaks a rule.
    """
    history.refresh()
    sorter = _Sorter(history, admission)
    told: list[str] = []
    for device, body in bodies_from(other, told):
        sorter.sort(device, body)
    sorter.admit()
    if not (sorter.new or sorter.known or sorter.refused):
        raise NotFound(
            f"There are no records in {clean_line(str(other))}.", "A farm, a backup or a history is expected."
        )
    return sorter.preview(told)


def apply(history: History, merge: MergePreview) -> int:
    """Take in what a preview found new, all or nothing; give how many records that were.

    What another window took in meanwhile is not counted.

    Raises
    ------
    NotSaved
        Where nothing was taken in.
    """
    if merge.statements:  # alone they harm nothing; records without them would be nobody's
        history.state(merge.statements)
    if not merge.parts:
        return 0
    with history.writing(wait_s=PATIENT_S) as writer:
        return writer.importer.take_over(merge.new[0].id, merge.parts)


def checked_files(files: Mapping[str, bytes]) -> int:
    """Check the journals of a bundle record by record, in memory; give how many records they hold.

    Raises
    ------
    BadInput
        At the first line that is damaged, or is no record of the device in whose folder it lies.
    """
    count = 0
    for name, data in files.items():
        match = HISTORY_ENTRY.fullmatch(name)
        parsed = parse(data)
        if match is None or parsed.damaged or parsed.unfinished:
            raise BadInput(f"The journal {clean_line(name, 80)} is damaged or not complete.", "Have it bundled again.")
        for body in parsed.bodies:
            doc = strict_doc(body)
            fault = _fault(doc, let_through(doc, salvage=False)[0], match["device"])
            if fault:
                raise BadInput(fault)
            count += 1
    return count


def sound_lines(device: str, journal: bytes) -> bytes:
    """Give those lines of a device's journal that `checked_files` takes: what is odd stays where it is."""
    return b"".join(sealed(body) for body in parse(journal).bodies if _is_sound(device, body))


def _is_sound(device: str, body: bytes) -> bool:
    try:
        doc = strict_doc(body)
    except BadInput:
        return False
    return _fault(doc, let_through(doc, salvage=False)[0], device) is None


class _Sorter:
    """Sorts what comes in into new, known and refused."""

    def __init__(self, history: History, admission: Admission | None) -> None:
        self._library: Library = history.library
        self._admission = admission
        self._own = history.device
        self._here: tuple[Key, frozenset[bytes]] = ("", ""), frozenset()
        """The JSON of all records in the journal of the month that was looked into last."""
        self._unusual: set[bytes] = set()
        """Sealed lines of which a quick look could not tell that nothing is odd about them."""
        self._taken: dict[str, int] = {}
        self._replacing: dict[str, Record] = {}
        self._far: list[Record] = []
        """Those of the new ones of which it must be asked whether anybody can have written them."""
        self.new: list[bytes] = []
        """Their sealed lines."""
        self._months: list[Key] = []
        """And in which month of which device each lies."""
        self.known = 0
        self.odd: list[tuple[str, str]] = []
        self.strange = 0
        """How many lines hold no record."""
        self.refused: list[RefusedRecord] = []

    def sort(self, device: str, body: bytes) -> None:
        """Look at one line that lies in the folder of a device."""
        if self._here[0][0] == device and body in self._here[1]:
            if self._admission is not None:
                self._admission.see(msgspec.json.decode(body, type=_Passing), body)
            self.known += 1
            return
        record = usual_record(body)
        if record is not None and _is_sound_at_once(record, device):
            why, odd, doc = None, "", None
        else:
            try:
                doc = strict_doc(body, STORED)
            except BadInput:
                self.strange += 1
                return
            record, odd = let_through(doc, salvage=False)
            why, body = _fault(doc, record, device), msgspec.json.encode(doc)
        if why is None and record is not None:
            before = len(self.new)
            why = self._place(record, body)
            self._unusual.update(self.new[before:] if doc is not None else ())
            self.odd += [(record.id, odd)] if odd and len(self.new) > before else []
        if why:
            id = record.id if doc is None and record is not None else _id_as_shown(doc or {})
            self.refused.append(RefusedRecord(id=id, sentence=why))

    def admit(self) -> None:
        """Leave out of the new ones what may not come in: asked when all have been seen, in order of rank."""
        judge = self._admission
        if judge is None:
            found = [self._impossible(each) for each in self._far]
        else:
            judge.seen_all(self._here_by_id)
            doubtful = [(each.rank, place) for place, each in enumerate(Lines(self.new)) if not judge.is_vouched(each)]
            records = (record_in(self.new[place]) for _, place in sorted(doubtful))
            found = [self._impossible(each) or judge.why_not(each) for each in records]
        refused = {why.id: why for why in found if why is not None}
        if refused:
            self.refused += refused.values()
            gone = {self._taken[id] for id in refused}
            self._months = [month for place, month in enumerate(self._months) if place not in gone]
            self.new = [line for place, line in enumerate(self.new) if place not in gone]
            self.odd = [pair for pair in self.odd if pair[0] not in refused]
            self._replacing = {id: each for id, each in self._replacing.items() if id not in refused}

    def _impossible(self, record: Record) -> RefusedRecord | None:
        """Say why nobody can have written a record; never asked of what is proven to be the farm's own."""
        if record.device == self._own:
            sentence = f"Record {record.id} says that it was written on this laptop, which does not know it."
        elif self._jumps(record):
            sentence = f"Record {record.id} has a number that nobody can have counted up to."
        else:
            return None
        return RefusedRecord(id=record.id, sentence=sentence, device=record.device)

    def _jumps(self, record: Record) -> bool:
        """Tell whether a number is further ahead than the sender can have counted; a farm without records takes all."""
        room, counters = len(self.new) + LARGEST_JUMP, self._library.counters
        if (record.lamport <= room and record.seq <= room) or not self._ids:
            return False
        return record.lamport > counters.highest + room or record.seq > counters.seq(record.device) + room

    def preview(self, told: list[str]) -> MergePreview:
        """Tell what was found."""
        replaced = tuple(self._replacing.values())
        children = self._library.replacements.children
        conflicts = tuple(
            dict.fromkeys(each.replaces for each in replaced if each.replaces and children(each.replaces))
        )
        of_keys = self._admission.sentences if self._admission is not None else ()
        return MergePreview(
            new=Lines(self.new, usual=not self._unusual),
            known=self.known,
            replaced=replaced,
            conflicts=conflicts,
            refused=tuple(self.refused),
            sentences=tuple(told + self._sentences(replaced, conflicts)) + of_keys,
            parts=tuple(_parts(self.new, self._months, self._unusual)),
            statements=self._admission.statements if self._admission is not None else (),
        )

    def _place(self, record: Record, body: bytes) -> str | None:
        if self._admission is not None:
            self._admission.see(record, body)
        if self._is_known(record, body):
            self.known += 1
            return None
        if record.id in self._taken or record.id in self._ids:
            return f"Record {record.id} differs from the one that is here; ours is kept."
        self._taken[record.id] = len(self.new)
        self.new.append(sealed(body))
        self._months.append(self._month_of(record))
        if record.replaces:
            self._replacing[record.id] = record
        if record.device == self._own or max(record.lamport, record.seq) > LARGEST_JUMP:
            self._far.append(record)
        return None

    @cached_property
    def _ids(self) -> Mapping[str, Key]:
        """The month of every record that is here: asked only where a line is not here to the byte."""
        return self._library.all_ids()

    def _is_known(self, record: Record, body: bytes) -> bool:
        """Tell whether the same record is here, or came in before: most often to the byte."""
        if record.id in self._taken:
            return record_in(self.new[self._taken[record.id]]) == record
        month = self._month_of(record)
        if self._here[0] != month:
            self._here = month, frozenset(self._library.journal_bodies(month))
        if body in self._here[1]:
            return True
        key = self._ids.get(record.id)
        return key is not None and self._library.month(key).get(record.id) == record

    def _month_of(self, record: Record) -> Key:
        """The month of a record; one pair of texts for all of a month, as there may be half a million."""
        month = record.device, month_of(record.measured_at)
        return self._here[0] if month == self._here[0] else month

    def _here_by_id(self, id: str) -> Record | None:
        """The record of that id that is here already."""
        key = self._ids.get(id)
        return self._library.month(key).get(id) if key is not None else None

    def _sentences(self, replaced: tuple[Record, ...], conflicts: tuple[str, ...]) -> list[str]:
        told = [f"{len(self.new)} records are new, {self.known} are known already."]
        if replaced:
            told.append(f"{len(replaced)} of the new ones replace a record or take one back.")
        if conflicts:
            told.append(f"{len(conflicts)} records were replaced on both sides: the later replacement stands.")
        if self.odd:
            told.append(f"{len(self.odd)} of the new ones are odd and passed over in part, the first: {self.odd[0][1]}")
        if self.strange:
            told.append(f"{self.strange} lines hold no record, and were passed over.")
        if self.refused:
            told.append(f"{len(self.refused)} are refused, the first because: {self.refused[0].sentence}")
        return told


def _fault(doc: Doc, record: Record | None, device: str) -> str | None:
    """Say what is wrong with a foreign record, or None."""
    if record is not None and _is_sound_at_once(record, device):
        return None
    id = _id_as_shown(doc) if record is None else record.id
    if is_newer(doc):
        return f"Record {id} was written by a newer version of this program."
    if _is_beyond_counting(doc):
        return f"Record {id} has a number beyond all counting."
    if record is None:
        return f"Record {id} does not have the form of a record."
    if not (ID_PATTERN.match(str(doc.get("id"))) and DEVICE_PATTERN.match(record.device) and record.device == device):
        return f"Record {id} has an id or a device that is not one, or lies in the folder of another device."
    return None if is_keepable(record) else _not_to_be_kept(record)


def _id_as_shown(doc: Doc) -> str:
    """A foreign id, made harmless and short enough for a line."""
    return clean_line(str(doc.get("id")), LONGEST_ID_SHOWN)


def _is_sound_at_once(record: Record, device: str) -> bool:
    """Tell quickly that nothing is wrong with a foreign record; where it cannot tell, say no."""
    return (
        record.format <= FORMAT
        and record.seq < HIGHEST_COUNT
        and record.lamport < HIGHEST_COUNT
        and record.device == device
        and DEVICE_PATTERN.match(device) is not None
        and ID_PATTERN.match(record.id) is not None
        and is_keepable(record)
    )


def _not_to_be_kept(record: Record) -> str | None:
    try:
        checked(Draft(**{name: getattr(record, name) for name in Draft.__struct_fields__}))
        month_of(record.entered_at)
    except (BadInput, OverflowError, ValueError) as error:
        return f"Record {record.id}: {clean_line(str(error))}"
    return None


def _is_beyond_counting(doc: Doc) -> bool:
    return any(isinstance(doc.get(name), int) and doc[name] > 2 * HIGHEST_COUNT for name in ("seq", "lamport"))


class _Passing(msgspec.Struct):
    """As much of a record as tells what it is and where it lies."""

    id: str
    device: str
    seq: int
    measured_at: Moment


def _parts(new: Sequence[bytes], months: Sequence[Key], unusual: Collection[bytes]) -> Iterator[Arrivals]:
    lines_of: dict[Key, list[bytes]] = defaultdict(list)
    for line, month in zip(new, months, strict=True):
        lines_of[month].append(line)
    for month, lines in sorted(lines_of.items()):
        yield Arrivals(key=month, lines=lines, usual=not any(line in unusual for line in lines))
