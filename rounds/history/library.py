"""All months of all devices: which there are, what is known of them, and the few that are held open."""

from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path

from rounds.history.disk import Disk
from rounds.history.door import let_all_through
from rounds.history.files import Key, MonthFiles, list_months, month_files, stamp_of
from rounds.history.ids import month_of_id
from rounds.history.month import Doc
from rounds.history.newest import Newest
from rounds.history.query import Equals, answered, order
from rounds.history.reading import Damage, MonthContent, read_month, read_on
from rounds.history.record import HIGHEST_COUNT, Record, month_of
from rounds.history.replacements import Replacements
from rounds.history.summary import DerivedSummary, MonthHead, read_summary, write_summary

HELD_RECORDS = 30_000
LATEST_MONTHS = 15
"""How far back the newest record of each item is kept ready: a little more than 400 days."""


class Library:
    """The records on the disk, read as seldom as may be."""

    def __init__(self, folder: Path, disk: Disk) -> None:
        self.folder = folder
        self.replacements = Replacements()
        self.newest = Newest(self.counts, self._search_recent, self._read_recent)
        self.heads: dict[Key, MonthHead] = {}
        self.damage: list[Damage] = []
        self.to_heal: dict[Key, list[Doc]] = {}
        self.seqs: dict[str, int] = {}
        self.entered_s: dict[str, float] = {}
        self.lamports: dict[str, int] = {}
        self.newer: set[str] = set()
        """Devices in whose folders a newer version of the program has written."""
        self.gone: list[Key] = []
        self._disk = disk
        self._files: dict[Key, MonthFiles] = {}
        self._held: OrderedDict[Key, dict[str, Record]] = OrderedDict()

    def load_summary(self, path: Path) -> None:
        """Begin with what was known at the last close."""
        summary = read_summary(path, self._disk)
        self.heads = {(head.device, head.month): head for head in summary.months}
        for head in summary.months:
            self._count(head, ())
            self.newer |= {head.device} if head.newer else set()
        for id, replaced, lamport, device in summary.replacements:
            self.replacements.add(id, replaced, (lamport, device, id))
        self.newest.begin_with(summary.latest)

    def save_summary(self, path: Path) -> None:
        summary = DerivedSummary(
            months=list(self.heads.values()),
            replacements=self.replacements.rows(),
            latest=self.newest.records(),
        )
        write_summary(path, self._disk, summary)

    def look(self) -> list[Record]:
        """Read what has changed on the disk since it was last looked at; give the records that are new here."""
        found = list_months(self.folder)
        if self.heads.keys() - found.keys():
            self._forget(sorted(self.heads.keys() - found.keys()))
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

    def is_unsure(self) -> bool:
        """Tell whether a month must be read again before it is certain what stands in it."""
        return any(not head.stamps for head in self.heads.values())

    def take_in(self, files: MonthFiles, records: Sequence[Record]) -> None:
        """Take in what was just written to the end of a month's journal."""
        head = self.heads.setdefault(files.key, MonthHead(*files.key))
        stamp = stamp_of(files.journal)
        head.stamps = tuple(sorted({each[0]: each for each in (*head.stamps, stamp)}.values()))
        head.read_to = stamp[1]
        if files.key not in self._files:
            self._files[files.key] = files
        self._count(head, records)
        if files.key in self._held:
            self._held[files.key].update((each.id, each) for each in records)
        self.replacements.add_records(records)
        self.newest.follow(records, self._is_odd)

    def files(self, key: Key) -> MonthFiles:
        return self._files.get(key) or month_files(self.folder, *key)

    def all_ids(self) -> dict[str, Key]:
        """Give the id of every record and the month it lies in; reads everything."""
        ids: dict[str, Key] = {}
        for key in self.months():
            if key in self._held:
                ids.update((id, key) for id in self._held[key])
            else:
                content = read_month(self._disk, self.files(key))
                ids.update((doc["id"], key) for doc in content.docs if isinstance(doc.get("id"), str))
        return ids

    def lamport(self, device: str) -> int:
        """Give the highest counter that a device counts on from: a forged one of another leaves it room."""
        others = max((count for name, count in self.lamports.items() if name != device), default=0)
        return max(self.lamports.get(device, 0), min(others, HIGHEST_COUNT))

    def distrust(self, keys: Iterable[Key]) -> None:
        """Have months read again, since it is not certain what stands in them."""
        for key in keys:
            if key in self.heads:
                self.heads[key].stamps = ()
                self.heads[key].read_to = 0

    def find(self, id: str) -> Record | None:
        """Give a record by its id: from what is held open, then from the month of its id, then from all others."""
        for records in self._held.values():
            if id in records:
                return records[id]
        guess = month_of_id(id)
        for key in sorted(self._files, key=lambda key: (abs(_number(key[1]) - _number(guess)), key)):
            if key not in self._held:
                for record in self.scan(key, Equals(id=id)):
                    if record.id == id:
                        return record
        return None

    def months(self, first: str = "", last: str = "9999") -> list[Key]:
        """List what there is from one month to another, the newest first."""
        chosen = (key for key in self._files if first <= key[1] <= last)
        return sorted(chosen, key=lambda key: (key[1], key[0]), reverse=True)

    def month(self, key: Key) -> dict[str, Record]:
        """Give a whole month, and hold it open."""
        if key in self._held:
            self._held.move_to_end(key)
            return self._held[key]
        content = read_month(self._disk, self.files(key))
        self._note(key, content)
        records = {each.id: each for each in _records(content.docs)}
        self._hold(key, records)
        return records

    def scan(self, key: Key, wanted: Equals) -> Iterable[Record]:
        """Give the records of a month that a query wants, without holding it open."""
        if key in self._held:
            return self._held[key].values()
        content = read_month(self._disk, self.files(key), wanted)
        self._note(key, content)
        return _records(content.docs)

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

    def counts(self, record: Record) -> bool:
        return not record.void and self.replacements.stands(record.id)

    def _is_odd(self, record: Record) -> bool:
        return self.replacements.standing(record.id) != record.id

    def _search_recent(self, station: str, item: str) -> Record | None:
        return self.search(self._recent(), Equals(station=station), lambda each: item in answered(each))

    def _read_recent(self) -> Iterator[Record]:
        return (record for key in self._recent() for record in self.month(key).values())

    def _absorb(self, files: MonthFiles) -> list[Record]:
        head = self.heads.get(files.key)
        grown = head is not None and _only_grown(head, files)
        content = read_on(self._disk, files, head.read_to) if head and grown else read_month(self._disk, files)
        records, odd, newer = let_all_through(content.docs)
        if head is None or not grown:
            head = self.heads[files.key] = MonthHead(*files.key)
            self._hold(files.key, {each.id: each for each in records})
        elif files.key in self._held:
            self._held[files.key].update((each.id, each) for each in records)
        head.stamps, head.read_to = () if content.unread else files.stamps, content.read_to
        self._note(files.key, content)
        head.odd += odd + len(content.strange)
        head.newer += int(content.newer) + newer
        self.newer |= {head.device} if head.newer else set()
        self._count(head, records)
        self.replacements.add_records(records)
        return records

    def _note(self, key: Key, content: MonthContent) -> None:
        self.damage.extend(each for each in content.damage if each not in self.damage)
        if content.not_in_journal:
            self.to_heal[key] = content.not_in_journal

    def _count(self, head: MonthHead, records: Iterable[Record]) -> None:
        for record in records:
            if record.device == head.device:
                head.seq = max(head.seq, record.seq)
            head.lamport = max(head.lamport, record.lamport)
            head.entered_s = max(head.entered_s, record.entered_at.timestamp())
        self.lamports[head.device] = max(self.lamports.get(head.device, 0), head.lamport)
        self.seqs[head.device] = max(self.seqs.get(head.device, 0), head.seq)
        self.entered_s[head.device] = max(self.entered_s.get(head.device, 0.0), head.entered_s)

    def _hold(self, key: Key, records: dict[str, Record]) -> None:
        self._held[key] = records
        self._held.move_to_end(key)
        while sum(map(len, self._held.values())) > HELD_RECORDS and len(self._held) > 1:
            self._held.popitem(last=False)

    def _forget(self, keys: list[Key]) -> None:
        for key in keys:
            del self.heads[key]
            self._held.pop(key, None)
        self.gone.extend(keys)
        self.newest.items = {}
        self._files = {}
        self.heads = {}
        self.replacements = Replacements()
        self.seqs, self.entered_s, self.lamports = {}, {}, {}

    def _recent(self) -> list[Key]:
        keys = self.months()
        months = sorted({month for _, month in keys}, reverse=True)[:LATEST_MONTHS]
        return [key for key in keys if key[1] in months]


def _records(docs: Iterable[Doc]) -> Iterator[Record]:
    return iter(let_all_through(docs)[0])


def _number(month: str) -> int:
    return int(month[:4]) * 12 + int(month[5:])


def _only_grown(head: MonthHead, files: MonthFiles) -> bool:
    before = {name: size for name, size, _ in head.stamps}
    name = files.journal.name
    others = tuple(each for each in head.stamps if each[0] != name)
    others_now = tuple(each for each in files.stamps if each[0] != name)
    now = {each: size for each, size, _ in files.stamps}
    return name in before and name in now and others == others_now and now[name] > before[name] >= head.read_to
