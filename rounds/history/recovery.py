"""What a cut, a crash or a lost copy left behind is put right; nothing is thrown away."""

import os
from collections.abc import Sequence
from pathlib import Path

import msgspec

from rounds.history.append import Appender
from rounds.history.disk import Disk
from rounds.history.files import MonthFiles
from rounds.history.journal import sealed
from rounds.history.month import Doc
from rounds.history.quarantine import put_aside
from rounds.history.reading import Damage, finished


def tidy(history: Path, disk: Disk, appender: Appender, files: MonthFiles, read_to: int) -> str | None:
    """Close an unfinished last line: a whole record gets its line feed, anything else goes to the quarantine.

    Returns
    -------
    str or None
        What was found, or None where the journal ends as it should.
    """
    try:
        size = os.stat(files.journal).st_size  # noqa: PTH116
    except FileNotFoundError:
        return None
    if size <= read_to:
        return None
    rest = disk.read(files.journal, read_to)
    if rest.endswith(b"\n"):
        return None
    body = finished(rest)
    if body is None:
        sentence = f"The last line of {files.journal.name} was cut off after {len(rest)} bytes; it is in quarantine."
        damage = Damage(path=files.journal, device=files.device, month=files.month, raw=rest, sentence=sentence)
        put_aside(history, disk, damage)
        appender.cut(files.journal, read_to)
        return sentence
    appender.append([(files.journal, b"\n")])
    return f"The last record of {files.journal.name} was whole, but its line was not closed; it is now."


def heal(appender: Appender, files: MonthFiles, docs: Sequence[Doc]) -> None:
    """Write into the journal what only another copy still had."""
    data = b"".join(sealed(msgspec.json.encode(doc)) for doc in docs)
    appender.append([(files.journal, data)])
