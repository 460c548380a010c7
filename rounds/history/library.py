"""All months of all devices: which there are, what is known of them, and the few that are held open."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import msgspec

from rounds.history.counters import Counters
from rounds.history.disk import Disk
from rounds.history.door import let_all_through
from rounds.history.files import Key, MonthFiles, Stamp, Survey, month_files, stamp_of, survey
from rounds.history.folds import Fold, Folding
from rounds.history.held import HeldMonths
from rounds.history.ids import month_of_id
from rounds.history.journal import parse
from rounds.history.kept_folds import KeptFolds
from rounds.history.lines import bodies_of_month
from rounds.history.month import Doc
from rounds.history.newest import Newest
from rounds.history.open_saves import OpenSaves
from rounds.history.query import Equals, OfKinds, answered, order
from rounds.history.reading import Damage, MonthContent, read_month, read_on
from rounds.history.record import Record, month_of
from rounds.history.replacements import Replacements
from rounds.history.summary import DerivedSummary, MonthHead, read_summary, write_summary

LATEST_MONTHS = 15
"""How far back the newest record of each item is kept ready: a little more than 400 days."""


class Library:
    """The records on the disk, read as seldom as may be."""

    def __init__(self, folder: Path, disk: Disk) -> None:
        self.folder = folder
        self.replacements = Replacements()
        self.newest = Newest(self.counts, self._search_recent, self._read_recent)
        self.folds = KeptFolds(self.replacements, self.find, self._standing)
        self.heads: dict[Key, MonthHead] = {}
        self.damage: list[Damage] = []
        self.to_heal: dict[Key, list[Doc]] = {}
        self.counters = Counters()
        self.open_saves = OpenSaves()
        self.unconfirmed: frozenset[str] = frozenset()
        """Ids of records of a save that a power cut broke off: where nothing may be written, they are passed over."""
        self.newer: set[str] = set()
        """Devices in whose folders a newer version of the program has written."""
        self.gone: list[Key] = []
        self.unread: dict[Key, str] = {}
        """Months of which a file could not be read, and what was told of it."""
        self.seen = Survey()
        """What lay in the folder when it was last looked at."""
        self._disk = disk
        self._files: dict[Key, MonthFiles] = {}
        self._held = HeldMonths()

    def load_summary(self, path: Path) -> None:
        """Begin with what was known at the last close."""
        summary = read_summary(path, self._disk)
        self.heads = {(head.device, head.month): head for head in summary.months}
        for head in summary.months:
            self.counters.count(head, ())
            self.newer |= {head.device} if head.newer else set()
        for id, replaced, lamport, device in summary.replacements:
            self.replacements.add(id, replaced, (lamport, device, id))
        self.newest.begin_with(summary.latest)
        self.folds.load(summary.folds)

    def save_summary(self, path: Path) -> None:
        summary = DerivedSummary(
            months=list(self.heads.values()),
            replacements=self.replacements.rows(),
            latest=self.newest.records(),
            folds=self.folds.rows(),
        )
        write_summary(path, self._disk, summary)
        self.folds.note_saved()

    def look(self) -> list[Record]:
        """Read what has changed on the disk since it was last looked at; give the records that are new here."""
        self.seen = survey(self.folder, self._disk)
        found = self.seen.months
        gone = sorted(key for key in self.heads.keys() - found.keys() if not self.seen.hides(key))
        if gone:
            self._forget(gone)
        changed = [
            files for key, files in found.items() if key not in self.heads or self.heads[key].stamps != files.stamps
        ]
        self._files = found
        fresh = [record for files in changed for record in self._absorb(files)]
        if len(changed) > 3:
            self.newest.rebuild()
        elif fresh:
            self.newest.follow(fresh, self._is_odd)
        return fresh

    def out_of_reach(self) -> list[str]:
        """What cannot be read now, a sentence each."""
        return [*(self.seen.told if self.seen.blocked else ()), *self.unread.values()]

    def cannot_count(self, device: str) -> bool:
        """Tell whether something of a device cannot be read now, so that nobody knows how far it has counted."""
        unread = (key for key, head in self.heads.items() if not head.stamps)
        return (
            any(key[0] == device for key in unread)
            or self.seen.hides((device, ""))
            or any(each.startswith(f"{device}/") for each in self.seen.blocked)
        )

    def is_unsure(self) -> bool:
        """Tell whether a month must be read again before it is certain what stands in it."""
        return bool(self.seen.blocked) or any(not head.stamps for head in self.heads.values())

    def take_in(self, files: MonthFiles, records: Sequence[Record]) -> None:
        """Take in what was just written to the end of a month's journal."""
        head = self.heads.setdefault(files.key, MonthHead(*files.key))
        self._stamp(head, files.journal)
        if files.key not in self._files:
            self._files[files.key] = files
        self.counters.count(head, records)
        self._held.add(files.key, records)
        self.replacements.add_records(records)
        self.newest.follow(records, self._is_odd)
        self.folds.take_in(records)

    def _stamp(self, head: MonthHead, journal: Path) -> None:
        try:
            stamp = stamp_of(journal)
        except OSError:  # what was written is safe; it is read again
            self.distrust([(head.device, head.month)])
            return
        head.stamps = tuple(sorted({each[0]: each for each in (*head.stamps, stamp)}.values()))
        head.read_to = stamp[1]

    def files(self, key: Key) -> MonthFiles:
        return self._files.get(key) or month_files(self.folder, *key)

    def all_ids(self) -> dict[str, Key]:
        """Give the id of every record and the month it lies in; reads everything."""
        ids: dict[str, Key] = {}
        for key in self.months():
            held = self._held.get(key)
            if held is not None:
                ids.update((id, key) for id in held)
            else:
                ids.update((_id_in(body), key) for body in bodies_of_month(self._disk, self.files(key), []))
        return ids

    def journal_bodies(self, key: Key) -> list[bytes]:
        """Give the JSON of every sound line in the journal of a month; none where it cannot be read."""
        try:
            return parse(self._disk.read(self.files(key).journal)).bodies
        except OSError:
            return []

    def distrust(self, keys: Iterable[Key]) -> None:
        """Have months read again, since it is not certain what stands in them."""
        for key in keys:
            if key in self.heads:
                self.heads[key].stamps = ()
                self.heads[key].read_to = 0

    def forget(self, keys: Iterable[Key]) -> None:
        """Have everything read again, since something was taken off the ends of months."""
        self._forget(list(keys))
        self.gone = [key for key in self.gone if key not in keys]
        self._held.clear()

    def find(self, id: str) -> Record | None:
        """Give a record by its id: from what is held open, then from the month of its id, then from all others."""
        found = self._held.find(id)
        guess = _number(month_of_id(id))
        near = sorted(self._files, key=lambda key: (abs(_number(key[1]) - guess), key)) if found is None else ()
        there = (each for key in near if key not in self._held for each in self.scan(key, Equals(id=id)))
        return found or next((each for each in there if each.id == id), None)

    def months(self, first: str = "", last: str = "9999") -> list[Key]:
        """List what there is from one month to another, the newest first."""
        chosen = (key for key in self._files if first <= key[1] <= last)
        return sorted(chosen, key=lambda key: (key[1], key[0]), reverse=True)

    def month(self, key: Key) -> dict[str, Record]:
        """Give a whole month, and hold it open."""
        held = self._held.get(key)
        return held if held is not None else self._held.hold(key, _records(self._content(key, None).docs))

    def scan(self, key: Key, wanted: Equals) -> Iterable[Record]:
        """Give the records of a month that a query wants, without holding it open; all where it is held."""
        held = self._held.get(key)
        return held.values() if held is not None else _records(self._content(key, wanted).docs)

    def read_whole(self, key: Key, wanted: Equals) -> Iterable[Record] | None:
        """Do the same; None where a file cannot be read now, which will be looked at again."""
        if key in self._held:
            return self.scan(key, wanted)
        content = self._content(key, wanted)
        if not content.unread:
            return _records(content.docs)
        self.distrust([key])
        return None

    def _content(self, key: Key, wanted: Equals | None) -> MonthContent:
        content = read_month(self._disk, self.files(key), wanted)
        self._note(key, content)
        return content

    def stamps(self, key: Key) -> tuple[Stamp, ...]:
        """Tell as what the files of a month were known when they were last read; empty where that is not certain."""
        head = self.heads.get(key)
        return head.stamps if head is not None else ()

    def search(self, keys: Sequence[Key], wanted: Equals, accept: Callable[[Record], bool]) -> Record | None:
        """Search months, newest first, for the newest standing record."""
        best: Record | None = None
        for key in keys:
            if best is not None and key[1] < month_of(best.measured_at):
                break
            for record in self.scan(key, wanted):
                if wanted.accepts(record) and accept(record) and self.counts(record):
                    best = record if best is None else max(best, record, key=order)
        return best

    def fold_on(self, fold: Fold[Any]) -> Folding:
        """Take a fold one month nearer to the end of the record."""
        return self.folds.read_on(fold, (month for _, month in self._files))

    def counts(self, record: Record) -> bool:
        return not record.void and record.id not in self.unconfirmed and self.replacements.stands(record.id)

    def broken_off(self, device: str) -> list[tuple[int, int]]:
        """Give the saves at the end of a device's numbers that a power cut broke off."""
        last = self.counters.seq(device)
        return [span for span in self.open_saves.of(device, last) if not self._is_whole(device, span)]

    def pass_over_broken_off(self, device: str) -> None:
        """Leave out what is there of them."""
        spans = self.open_saves.of(device, self.counters.seq(device))
        self.unconfirmed = frozenset(id for span in self.broken_off(device) for id in spans[span])
        if self.unconfirmed:
            self.newest.rebuild()
            self.folds.clear()

    def _is_whole(self, device: str, span: tuple[int, int]) -> bool:
        keys = [key for key, head in self.heads.items() if key[0] == device and head.seq >= span[0]]
        there = {each.seq for key in keys for each in self.month(key).values() if span[0] <= each.seq <= span[1]}
        return len(there) == span[1] - span[0] + 1

    def _is_odd(self, record: Record) -> bool:
        return self.replacements.standing(record.id) != record.id

    def _search_recent(self, station: str, item: str) -> Record | None:
        return self.search(self._recent(), Equals(station=station), lambda each: item in answered(each))

    def _read_recent(self) -> Iterator[Record]:
        return (record for key in self._recent() for record in self.month(key).values())

    def _absorb(self, files: MonthFiles) -> list[Record]:
        """Read a month that has changed, or what was added to it."""
        head = self.heads.get(files.key)
        if head is not None and head.has_only_grown(files):
            content = read_on(self._disk, files, head.read_to)
            records = self._enter(files, head, content)
            self._held.add(files.key, records)
            self.replacements.add_records(records)
            self.folds.take_in(records)
        else:
            content = read_month(self._disk, files)
            head = self.heads[files.key] = MonthHead(*files.key)
            records = self._enter(files, head, content)
            self._held.hold(files.key, records)
            self.folds.unfold_from(files.month)
            self.folds.take_in(self.replacements.add_records(records))
        return records

    def _enter(self, files: MonthFiles, head: MonthHead, content: MonthContent) -> list[Record]:
        """Enter what was read into the head of its month; give its records."""
        records, odd, newer = let_all_through(content.docs)
        head.stamps, head.read_to = () if content.unread else files.stamps, content.read_to
        self._note(files.key, content)
        self.unread.pop(files.key, None)
        if content.unread:
            self.unread[files.key] = content.damage[-1].sentence
        head.odd += odd + len(content.strange)
        head.newer += int(content.newer) + newer
        self.newer |= {head.device} if head.newer else set()
        self.counters.count(head, records)
        self.open_saves.add(head.device, records)
        return records

    def _standing(self, month: str, kinds: frozenset[str]) -> Iterator[Record]:
        """Read what stands in a month of all devices; what cannot be read now is looked at again."""
        wanted = OfKinds(kinds)
        for key in self.months(month, month):
            records = self.read_whole(key, wanted) or ()
            yield from (each for each in records if wanted.accepts(each) and self.counts(each))

    def _note(self, key: Key, content: MonthContent) -> None:
        self.damage.extend(each for each in content.damage if each not in self.damage)
        if content.not_in_journal:
            self.to_heal[key] = content.not_in_journal

    def _forget(self, keys: list[Key]) -> None:
        for key in keys:
            del self.heads[key]
            self._held.drop(key)
        self.gone.extend(keys)
        self.newest.items = {}
        self.folds.clear()
        self._files = {}
        self.heads = {}
        self.replacements.clear()
        self.open_saves.clear()
        self.counters = Counters()

    def _recent(self) -> list[Key]:
        keys = self.months()
        months = sorted({month for _, month in keys}, reverse=True)[:LATEST_MONTHS]
        return [key for key in keys if key[1] in months]


def _records(docs: Iterable[Doc]) -> Iterator[Record]:
    return iter(let_all_through(docs)[0])


class _Named(msgspec.Struct):
    id: str


def _id_in(body: bytes) -> str:
    try:
        return msgspec.json.decode(body, type=_Named).id
    except (msgspec.MsgspecError, UnicodeDecodeError):
        return ""


def _number(month: str) -> int:
    return int(month[:4]) * 12 + int(month[5:])
