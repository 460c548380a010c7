"""Reading everything there is, twice, and saying what is not as it should be."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from rounds.history.backup import LastBackup, last_backup
from rounds.history.disk import Disk
from rounds.history.door import is_newer, let_through
from rounds.history.files import MonthFiles, list_months
from rounds.history.journal import parse
from rounds.history.month import DamagedMonth, Doc, read_table
from rounds.history.places import history_folder
from rounds.history.quarantine import quarantined
from rounds.history.reading import MonthContent, doc_of, read_month
from rounds.history.record import HIGHEST_COUNT
from rounds.text import clean_line

MOST_TOLD = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Numbers of a device that are not here."""

    device: str
    first: int
    last: int

    @property
    def sentence(self) -> str:
        which = f"Record {self.first}" if self.first == self.last else f"Records {self.first}-{self.last}"
        return f"{which} of {clean_line(self.device, 40)} {'has' if self.first == self.last else 'have'} not arrived."


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckReport:
    """What `check` found."""

    records: int
    readings: int
    months: int
    gaps: tuple[Gap, ...]
    damaged: tuple[str, ...]
    odd: tuple[str, ...]
    """What is passed over, record by record; the lines themselves stay as they are."""
    quarantine: tuple[Path, ...]
    verified: bool
    """Whether journal and monthly file of every month agree, and every record could be read from both."""
    last_backup: LastBackup | None
    sentences: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing is damaged or missing."""
        return self.verified and not self.damaged and not self.gaps

    def backup_age_days(self, now: datetime) -> float | None:
        """Age of the last good backup, or None where there was never one. [d]"""
        return None if self.last_backup is None else (now - self.last_backup.at).total_seconds() / 86_400


def check(place: Path, *, now: datetime | None = None, disk: Disk | None = None) -> CheckReport:
    """Read every file of a history, compare both copies, and count what is missing; nothing is changed.

    Parameters
    ----------
    place : Path
        A farm folder or a history folder.
    now : datetime, optional
        Time against which the age of the last backup is told.
    """
    folder, disk = history_folder(place), disk or Disk()
    docs: dict[str, Doc] = {}
    damaged: list[str] = []
    odd: list[str] = []
    months = list_months(folder)
    for files in months.values():
        content, found = examine(disk, files)
        docs.update((str(doc.get("id")), doc) for doc in content.docs)
        damaged += found
        odd += _odd(files, content)
    gaps = gaps_in(docs.values())
    backup = last_backup(folder)
    sentences = [_counted(len(docs), len(months)), *damaged, *_shortened(odd), *(gap.sentence for gap in gaps)]
    sentences += [*_twice(docs.values()), *_told_quarantine(folder), _told_backup(backup, now or datetime.now(UTC))]
    return CheckReport(
        records=len(docs),
        readings=sum(doc.get("kind") == "reading" for doc in docs.values()),
        months=len(months),
        gaps=tuple(gaps),
        damaged=tuple(damaged),
        odd=tuple(odd),
        quarantine=tuple(quarantined(folder)),
        verified=not damaged,
        last_backup=backup,
        sentences=tuple(sentences),
    )


def examine(disk: Disk, files: MonthFiles) -> tuple[MonthContent, list[str]]:
    """Read a month as any start would, then both copies to the last byte; give what differs, a sentence each."""
    content = read_month(disk, files)
    found = [each.sentence for each in content.damage]
    journal = parse(disk.read(files.journal)) if files.journal.exists() else parse(b"")
    found += [
        f"A line of {files.journal.name} of {files.device} is damaged (byte {each.start})."
        for each in journal.damaged
        if content.table_trusted
    ]
    if journal.unfinished:
        found.append(f"The journal {files.journal.name} of {files.device} is not complete yet.")
    found += _differences(disk, files, journal.bodies)
    found += _former(disk, files)
    content.strange += [each for each in _strange(journal.bodies) if each not in content.strange]
    return content, list(dict.fromkeys(found))


def gaps_in(docs: Iterable[Doc]) -> list[Gap]:
    """Find the numbers that are missing between 1 and the last one of each device."""
    numbers: dict[str, set[int]] = defaultdict(set)
    for doc in docs:
        numbers[str(doc.get("device"))].add(_number(doc))
    gaps = []
    for device, seen in sorted(numbers.items()):
        before = 0
        for number in sorted(seen - {0}):
            if number > before + 1:
                gaps.append(Gap(device=device, first=before + 1, last=number - 1))
            before = number
    return gaps


def _number(doc: Doc) -> int:
    """The number of a record in its device; 0 where it is none."""
    seq = doc.get("seq")
    return seq if isinstance(seq, int) and 0 < seq <= 2 * HIGHEST_COUNT else 0


def _strange(bodies: Iterable[bytes]) -> list[bytes]:
    return [body for body in bodies if doc_of(body) is None]


def _odd(files: MonthFiles, content: MonthContent) -> list[str]:
    """Name what is passed over in a month, a sentence each."""
    later = sum(map(is_newer, content.docs))
    name = f"{files.month} of {files.device}"
    found = [f"From a newer version of this program, and passed over: {later} of {name}."] if later else []
    if content.strange:
        found.append(f"Sealed lines that hold no record, and are passed over: {len(content.strange)} of {name}.")
    return found + [odd for doc in content.docs if not is_newer(doc) and (odd := let_through(doc)[1])]


def _shortened(odd: list[str]) -> list[str]:
    more = len(odd) - MOST_TOLD
    return [*odd[:MOST_TOLD], f"{more} more are passed over: `rounds check --json` names each."] if more > 1 else odd


def _differences(disk: Disk, files: MonthFiles, bodies: list[bytes]) -> list[str]:
    docs = _in_table(disk, files)
    journal = {doc.get("id"): doc for body in bodies if (doc := doc_of(body)) is not None}
    lacking = [doc for doc in docs if doc.get("id") not in journal]
    unlike = [doc for doc in docs if doc.get("id") in journal and dict(doc) != dict(journal[doc.get("id")])]
    name = f"{files.month} of {files.device}"
    found = [f"{len(lacking)} records of {name} stand only in the monthly file."] if lacking else []
    return found + ([f"{len(unlike)} records of {name} differ between journal and monthly file."] if unlike else [])


def _in_table(disk: Disk, files: MonthFiles) -> Sequence[Doc]:
    """The documents of a monthly file; none where it is missing or damaged, which is told elsewhere."""
    try:
        table = read_table(files.table, disk)
    except DamagedMonth:
        return []
    return [] if table is None else table[0]


def _former(disk: Disk, files: MonthFiles) -> list[str]:
    try:
        read_table(files.older, disk)
    except DamagedMonth:
        return [f"The former generation {files.older.name} of {files.device} is damaged."]
    return []


def _twice(docs: Iterable[Doc]) -> list[str]:
    seen: dict[tuple[str, int], int] = defaultdict(int)
    for doc in docs:
        seen[str(doc.get("device")), _number(doc)] += 1
    twice = [(seq, device, count) for (device, seq), count in seen.items() if count > 1 and seq]
    return [f"Number {seq} of {clean_line(device, 40)} was given {count} times." for seq, device, count in twice]


def _counted(records: int, months: int) -> str:
    return f"{records} records in {months} months were read."


def _told_quarantine(folder: Path) -> list[str]:
    number = len(quarantined(folder))
    return [f"{number} damaged pieces are kept in {folder / 'quarantine'}."] if number else []


def _told_backup(backup: LastBackup | None, now: datetime) -> str:
    if backup is None:
        return "There has been no backup yet."
    days = (now - backup.at).total_seconds() / 86_400
    age = "today" if days < 1 else f"{days:.0f} days ago"
    return f"The last good backup was made {age} ({backup.at:%Y-%m-%d %H:%M}), into {backup.to}."
