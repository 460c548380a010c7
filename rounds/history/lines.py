"""The lines of a month as they stand, where both of its copies are sound and agree: read without making documents."""

from collections.abc import Iterator

import msgspec

from rounds.history.disk import Disk
from rounds.history.files import MonthFiles
from rounds.history.journal import parse
from rounds.history.month import DamagedMonth, is_damaged, read_texts
from rounds.history.reading import read_month


def agreed_lines(disk: Disk, files: MonthFiles) -> list[bytes] | None:
    """Give the JSON of every record of a month, in the order of its journal.

    Returns
    -------
    list of bytes or None
        None where something is damaged, missing or unlike, or a sync tool left copies: then `read_month` tells what.
    """
    if files.copies:
        return None
    try:
        data = disk.read(files.journal)
        parsed = parse(data)
        if parsed.damaged or parsed.unfinished:
            return None
        table = read_texts(files.table, disk)
        if is_damaged(files.older, disk):
            return None
    except (OSError, DamagedMonth):
        return None
    if table is not None and (table[1] > len(data) or table[0] != parsed.bodies[: len(table[0])]):
        return None
    return parsed.bodies


def bodies_of_month(disk: Disk, files: MonthFiles, told: list[str]) -> Iterator[bytes]:
    """Give the JSON of every record of a month, from whatever copy has it."""
    lines = agreed_lines(disk, files)
    if lines is not None:
        yield from lines
        return
    content = read_month(disk, files)
    told.extend(each.sentence for each in content.damage)
    for doc in content.docs:
        try:
            yield msgspec.json.encode(doc)
        except (UnicodeEncodeError, OverflowError, RecursionError):
            told.append(f"A record of {files.month} of {files.device} holds what no line can, and was passed over.")
