"""Reading one month of one device: the monthly file where it can be trusted, else the journal; differences are told."""

from pathlib import Path
from typing import Any

import msgspec

from rounds.history.disk import Disk, size_of
from rounds.history.door import doc_of
from rounds.history.files import MonthFiles
from rounds.history.journal import LONGEST_LINE, Damaged, Parsed, opened, parse, salvaged
from rounds.history.month import DamagedMonth, Doc, read_table

Wanted = Any
"""A TinyDB query: something that tells of a document whether it is wanted."""


class Damage(msgspec.Struct, frozen=True, kw_only=True):
    """Something in a file that is not as it was written."""

    path: Path
    device: str
    month: str
    raw: bytes
    """The damaged bytes, for the quarantine; empty where there is nothing to keep."""
    sentence: str


class MonthContent(msgspec.Struct, kw_only=True):
    """What one month of one device holds."""

    docs: list[Doc] = []
    read_to: int = 0
    """Length of the journal up to its last whole line. [bytes]"""
    unfinished: bytes = b""
    table_trusted: bool = False
    not_in_journal: list[Doc] = []
    """Records that only another copy still had."""
    damage: list[Damage] = []
    unread: bool = False
    """Whether a file could not be read this time, so that it must be tried again."""
    strange: dict[bytes, None] = {}
    """Lines that are sealed, but hold nothing that could be a record: they stay where they are."""
    newer: bool = False
    """Whether something was written by a newer version of the program."""


def read_month(disk: Disk, files: MonthFiles, wanted: Wanted = None) -> MonthContent:
    """Read a month; with `wanted`, give only documents it accepts.

    The monthly file is believed only if its checksum holds and the journal is at least as long as it says. Otherwise
    the journal is read as a whole, and the monthly file, its former generation and all copies add what it lacks.
    """
    content = _read(disk, files, wanted)
    if wanted is not None and content.damage:
        content = _read(disk, files, None)
        content.docs = [doc for doc in content.docs if wanted(doc)]
    return content


def _read(disk: Disk, files: MonthFiles, wanted: Wanted) -> MonthContent:
    content = MonthContent()
    table = _sound_table(disk, files, wanted, content)
    size = _journal_size(files, content)
    start = table[1] if table is not None and table[1] <= size else 0
    content.table_trusted = start > 0
    parsed = _read_journal(disk, files, start, size, content)
    journal_docs = _docs(parsed.bodies, content)
    if content.table_trusted and table is not None:
        content.docs = table[0]
        _add(content.docs, journal_docs, wanted)
    else:
        _add(content.docs, journal_docs, wanted)
        if wanted is None or table is not None:
            _supplement(disk, files, table, content)
    for copy in files.copies:
        _read_copy(disk, files, copy, content, wanted)
    return content


def read_on(disk: Disk, files: MonthFiles, start: int) -> MonthContent:
    """Read what was added to the journal behind `start`."""
    content = MonthContent()
    parsed = _read_journal(disk, files, start, _journal_size(files, content), content)
    content.docs = _docs(parsed.bodies, content)
    return content


def finished(unfinished: bytes) -> bytes | None:
    """Give the record in a last line that lacks its line feed, or has another byte in its place."""
    if len(unfinished) > LONGEST_LINE:
        return None
    return next((body for each in (unfinished, unfinished[:-1]) if (body := opened(each)) is not None), None)


def _sound_table(disk: Disk, files: MonthFiles, wanted: Wanted, content: MonthContent) -> tuple[list[Doc], int] | None:
    try:
        found = read_table(files.table, disk, wanted)
        return found and ([doc for doc in found[0] if isinstance(doc.get("id"), str)], found[1])
    except DamagedMonth as error:
        content.newer |= error.newer
        if not error.newer:
            content.damage.append(_table_damage(files, files.table, error.data))
    except OSError as error:
        _unreadable(files, files.table, error, content)
    return None


def _journal_size(files: MonthFiles, content: MonthContent) -> int:
    try:
        return size_of(files.journal) or 0
    except OSError as error:
        _unreadable(files, files.journal, error, content)
        return 0


def _read_journal(disk: Disk, files: MonthFiles, start: int, size: int, content: MonthContent) -> Parsed:
    content.read_to = start
    if size <= start:
        return Parsed()
    try:
        data = disk.read(files.journal, start)
    except OSError as error:
        _unreadable(files, files.journal, error, content)
        return Parsed()
    parsed = parse(data)
    content.unfinished = parsed.unfinished
    content.read_to = start + parsed.end
    body = finished(parsed.unfinished)
    if body is not None:
        parsed.bodies.append(body)
    content.damage.extend(_line_damage(files, files.journal, start, each) for each in parsed.damaged)
    return parsed


def _supplement(disk: Disk, files: MonthFiles, table: tuple[list[Doc], int] | None, content: MonthContent) -> None:
    had = {doc.get("id") for doc in content.docs}
    others = list(table[0]) if table is not None else _salvaged_docs(disk, files.table)
    if table is None or content.damage:
        others += _salvaged_docs(disk, files.older)
    for doc in others:
        if doc.get("id") not in had:
            had.add(doc.get("id"))
            content.not_in_journal.append(doc)
    content.docs.extend(content.not_in_journal)
    if content.not_in_journal:
        number = len(content.not_in_journal)
        sentence = f"The journal of {files.month} lacked {number} records, which its monthly file still had."
        content.damage.append(_damage(files, files.journal, b"", sentence))


def _read_copy(disk: Disk, files: MonthFiles, copy: Path, content: MonthContent, wanted: Wanted) -> None:
    try:
        data = disk.read(copy)
    except OSError as error:
        _unreadable(files, copy, error, content)
        return
    if ".jsonl" in copy.name:
        parsed = parse(data)
        bodies = parsed.bodies
        content.damage.extend(_line_damage(files, copy, 0, each) for each in parsed.damaged)
    else:
        bodies = salvaged(data)
    _add(content.docs, _docs(bodies, content), wanted)


def _salvaged_docs(disk: Disk, path: Path) -> list[Doc]:
    try:
        return [doc for body in salvaged(disk.read(path)) if (doc := doc_of(body)) is not None]
    except OSError:
        return []


def _add(docs: list[Doc], more: list[Doc], wanted: Wanted) -> None:
    had = {doc.get("id") for doc in docs} if more else set()
    for doc in more:
        if doc.get("id") not in had and (wanted is None or wanted(doc)):
            had.add(doc.get("id"))
            docs.append(doc)


def _docs(bodies: list[bytes], content: MonthContent) -> list[Doc]:
    docs: list[Doc] = []
    for body in bodies:
        doc = doc_of(body)
        if doc is not None:
            docs.append(doc)
        else:
            content.strange[body] = None
    return docs


def _damage(files: MonthFiles, path: Path, raw: bytes, sentence: str) -> Damage:
    return Damage(path=path, device=files.device, month=files.month, raw=raw, sentence=sentence)


def _line_damage(files: MonthFiles, path: Path, start: int, damaged: Damaged) -> Damage:
    where = f"{path.name} of {files.device}, byte {start + damaged.start}"
    if damaged.rescued:
        sentence = f"A damaged line ({where}) could be put right: {len(damaged.rescued)} records rescued."
    else:
        sentence = f"A damaged line ({where}) could not be read."
    return _damage(files, path, damaged.raw, sentence)


def _table_damage(files: MonthFiles, path: Path, data: bytes) -> Damage:
    sentence = f"The monthly file {path.name} of {files.device} is damaged; the journal was read in its place."
    return _damage(files, path, data, sentence)


def _unreadable(files: MonthFiles, path: Path, error: OSError, content: MonthContent) -> None:
    sentence = f"The file {path.name} of {files.device} cannot be read: {error.strerror or error}."
    content.damage.append(_damage(files, path, b"", sentence))
    content.unread = True
