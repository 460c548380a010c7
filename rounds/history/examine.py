"""One month read to the last byte: both copies, what differs, what is damaged; nothing is changed and nothing fails."""

from collections.abc import Iterable, Sequence

from rounds.history.disk import Disk
from rounds.history.door import doc_of
from rounds.history.files import MonthFiles
from rounds.history.journal import Parsed, parse
from rounds.history.month import DamagedMonth, Doc, is_damaged, read_table
from rounds.history.reading import MonthContent, read_month


def examine(disk: Disk, files: MonthFiles) -> tuple[MonthContent, list[str]]:
    """Read a month as any start would, then both copies to the last byte; give what differs, a sentence each."""
    content = read_month(disk, files)
    found = [each.sentence for each in content.damage]
    journal = _journal(disk, files, found)
    found += [
        f"A line of {files.journal.name} of {files.device} is damaged (byte {each.start})."
        for each in journal.damaged
        if content.table_trusted
    ]
    if journal.unfinished:
        found.append(f"The journal {files.journal.name} of {files.device} is not complete yet.")
    found += _differences(disk, files, journal.bodies)
    found += _former(disk, files)
    content.strange.update(dict.fromkeys(_strange(journal.bodies)))
    return content, list(dict.fromkeys(found))


def _journal(disk: Disk, files: MonthFiles, found: list[str]) -> Parsed:
    """The journal, or none where there is none, or it cannot be read, which is told."""
    try:
        return parse(disk.read(files.journal))
    except FileNotFoundError:
        return Parsed()
    except OSError as error:
        found.append(f"The file {files.journal.name} of {files.device} cannot be read: {error.strerror or error}.")
        return Parsed()


def _strange(bodies: Iterable[bytes]) -> list[bytes]:
    return [body for body in bodies if doc_of(body) is None]


def _differences(disk: Disk, files: MonthFiles, bodies: list[bytes]) -> list[str]:
    journal = {doc.get("id"): dict(doc) for body in bodies if (doc := doc_of(body)) is not None}
    both = [(dict(doc), journal.get(doc.get("id"))) for doc in _in_table(disk, files)]
    lacking = sum(line is None for _, line in both)
    unlike = sum(line not in (None, doc) for doc, line in both)
    told = (lacking, "stand only in the monthly file"), (unlike, "differ between journal and monthly file")
    return [f"{number} records of {files.month} of {files.device} {what}." for number, what in told if number]


def _in_table(disk: Disk, files: MonthFiles) -> Sequence[Doc]:
    """The documents of a monthly file; none where it is missing, damaged or out of reach, which is told elsewhere."""
    try:
        table = read_table(files.table, disk)
    except (DamagedMonth, OSError):
        return []
    return [] if table is None else [doc for doc in table[0] if isinstance(doc.get("id"), str)]


def _former(disk: Disk, files: MonthFiles) -> list[str]:
    try:
        damaged = is_damaged(files.older, disk)
    except OSError:
        damaged = True
    return [f"The former generation {files.older.name} of {files.device} is damaged."] if damaged else []
