"""Bringing two histories together: a union of records that never change, seen first and then taken in as a whole."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import msgspec

from rounds.errors import BadInput, NotFound
from rounds.history.admission import Admission, RefusedRecord
from rounds.history.counters import LARGEST_JUMP
from rounds.history.device import DEVICE_PATTERN
from rounds.history.disk import LARGEST_FILE, Disk
from rounds.history.door import is_newer, let_through
from rounds.history.files import Key, survey
from rounds.history.ids import ID_PATTERN
from rounds.history.incoming import BESIDE_A_HISTORY, HISTORY_ENTRY, each_in_zip
from rounds.history.journal import parse, salvaged, sealed
from rounds.history.library import Library
from rounds.history.lock import PATIENT_S
from rounds.history.month import Doc
from rounds.history.places import history_folder
from rounds.history.reading import read_month
from rounds.history.record import FORMAT, HIGHEST_COUNT, Draft, Record, checked, is_keepable, month_of
from rounds.history.staging import Arrivals
from rounds.history.store import History
from rounds.history.strict import strict_doc
from rounds.text import clean_line

LONGEST_ID_SHOWN = 40
"""Of a foreign id, so that it leaves room for the sentence around it. [characters]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class MergePreview:
    """What a merge would do."""

    new: tuple[Record, ...]
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
    for device, doc in _source(other, told):
        sorter.sort(device, doc)
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
    """Sorts records into new, known and refused."""

    def __init__(self, history: History, admission: Admission | None) -> None:
        self._library: Library = history.library
        self._admission = admission
        self._own = history.device
        self._ids = self._library.all_ids()
        self._taken: dict[str, Record] = {}
        self.new: list[tuple[Record, bytes]] = []
        self.known = 0
        self.odd: list[tuple[str, str]] = []
        self.refused: list[RefusedRecord] = []

    def sort(self, device: str, doc: Doc) -> None:
        record, odd = let_through(doc, salvage=False)
        why = _fault(doc, record, device)
        if why is None and record is not None:
            before = len(self.new)
            why = self._place(record, doc)
            self.odd += [(record.id, odd)] if odd and len(self.new) > before else []
        if why:
            self.refused.append(RefusedRecord(id=_id_as_shown(doc), sentence=why))

    def admit(self) -> None:
        """Leave out of the new ones what may not come in: asked when all have been seen, in order of rank."""
        judge = self._admission
        if judge is not None:
            judge.seen_all(self._here)
        doubtful = [each for each, _ in self.new if judge is None or not judge.is_vouched(each)]
        if judge is None:
            found = [self._impossible(each) for each in doubtful]
        else:
            doubtful.sort(key=lambda each: each.rank)
            found = [self._impossible(each) or judge.why_not(each) for each in doubtful]
        refused = {why.id: why for why in found if why is not None}
        if refused:
            self.refused += refused.values()
            self.new = [pair for pair in self.new if pair[0].id not in refused]
            self.odd = [pair for pair in self.odd if pair[0] not in refused]

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
        records = tuple(record for record, _ in self.new)
        replaced = tuple(record for record in records if record.replaces)
        children = self._library.replacements.children
        conflicts = tuple(
            dict.fromkeys(each.replaces for each in replaced if each.replaces and children(each.replaces))
        )
        of_keys = self._admission.sentences if self._admission is not None else ()
        return MergePreview(
            new=records,
            known=self.known,
            replaced=replaced,
            conflicts=conflicts,
            refused=tuple(self.refused),
            sentences=tuple(told + self._sentences(replaced, conflicts)) + of_keys,
            parts=tuple(_parts(self.new)),
            statements=self._admission.statements if self._admission is not None else (),
        )

    def _place(self, record: Record, doc: Doc) -> str | None:
        body = msgspec.json.encode(doc)
        if self._admission is not None:
            self._admission.see(record, body)
        ours = self._taken.get(record.id) or self._here(record.id)
        if ours is not None:
            self.known += ours == record
            return None if ours == record else f"Record {record.id} differs from the one that is here; ours is kept."
        self._taken[record.id] = record
        self.new.append((record, sealed(body)))
        return None

    def _here(self, id: str) -> Record | None:
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


def _source(other: Path, told: list[str]) -> Iterator[tuple[str, Doc]]:
    if other.is_file() and other.suffix == ".zip":
        for name, data in each_in_zip(other, [HISTORY_ENTRY, BESIDE_A_HISTORY]):
            match = HISTORY_ENTRY.fullmatch(name)
            if match is not None:
                yield from _strict_docs(match["device"], name, data, told)
    elif other.is_file():
        yield from _own_folder_docs(other, told)
    else:
        yield from _folder_docs(other, told)


def _folder_docs(other: Path, told: list[str]) -> Iterator[tuple[str, Doc]]:
    folder = history_folder(other)
    seen = survey(folder)
    told.extend(seen.told)
    months = seen.months or {
        key: each for key, each in survey(other.resolve().parent).months.items() if key[0] == other.resolve().name
    }
    for files in months.values():
        content = read_month(Disk(), files)
        told.extend(each.sentence for each in content.damage)
        for doc in content.docs:
            yield files.device, doc


def _own_folder_docs(journal: Path, told: list[str]) -> Iterator[tuple[str, Doc]]:
    try:
        data = Disk().read_any(journal, LARGEST_FILE)
    except OSError as error:
        raise NotFound(f"{clean_line(str(journal))} cannot be read: {error.strerror or error}.") from error
    for _, doc in _strict_docs("", journal.name, data, told):
        yield str(doc.get("device")), doc


def _strict_docs(device: str, name: str, data: bytes, told: list[str]) -> Iterator[tuple[str, Doc]]:
    parsed = parse(data) if name.endswith(".jsonl") else None
    bodies = parsed.bodies if parsed else salvaged(data)
    if parsed and (parsed.damaged or parsed.unfinished):
        told.append(f"{clean_line(name)} is damaged or not complete: {len(bodies)} records could be read.")
    for body in bodies:
        try:
            yield device, strict_doc(body)
        except BadInput as error:
            told.append(f"A line of {clean_line(name)} was passed over: {error.sentence}")


def _parts(new: list[tuple[Record, bytes]]) -> Iterator[Arrivals]:
    months: dict[Key, list[tuple[Record, bytes]]] = defaultdict(list)
    for record, line in new:
        months[record.device, month_of(record.measured_at)].append((record, line))
    for key, records in sorted(months.items()):
        yield Arrivals(key=key, records=tuple(records))
