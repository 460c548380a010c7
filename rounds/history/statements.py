"""What devices state beside their records: sealed lines as in a journal, one file in each device's folder.

What a statement means is no matter of this room. It only keeps them, and reads them strictly where they are foreign.
"""

from collections.abc import Iterator
from pathlib import Path

from rounds.history.device import DEVICE_PATTERN
from rounds.history.journal import opened

STATEMENTS = "trust.lines"
MOST_BYTES = 16 << 20
"""A century of months of a dozen devices has a tenth of it."""


def statements_in(data: bytes) -> list[bytes]:
    """Give the statements of a file; lines that are damaged or not complete state nothing."""
    return [body for line in data.split(b"\n") if (body := opened(line)) is not None]


def read_statements(history: Path) -> list[bytes]:
    """Give what all devices of a history folder, or of the folder of one device, have stated, each once."""
    found: dict[bytes, None] = {}
    for path in statement_files(history):
        found.update(dict.fromkeys(statements_in(_read(path, MOST_BYTES))))
    return list(found)


def first_statements(history: Path) -> list[bytes]:
    """Give the first statement of each device, whatever else it has stated."""
    return [body for path in statement_files(history) for body in statements_in(_first_line(_read(path, 4_096)))]


def statement_files(history: Path) -> Iterator[Path]:
    """Find the files of statements in a history folder or the folder of one device; regular files alone."""
    try:
        folders = [history, *sorted(each for each in history.iterdir() if DEVICE_PATTERN.match(each.name))]
    except OSError:
        return
    for path in (each / STATEMENTS for each in folders):
        if path.is_file():
            yield path


def _first_line(data: bytes) -> bytes:
    return data[: data.find(b"\n") + 1]


def _read(path: Path, most: int) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(most)
    except OSError:
        return b""
