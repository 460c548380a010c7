"""What comes in from elsewhere, line by line: never all of it in memory as records."""

from collections.abc import Iterator, Sequence
from operator import eq
from pathlib import Path
from typing import overload

import msgspec

from rounds.errors import BadInput, NotFound
from rounds.history.disk import LARGEST_FILE, Disk
from rounds.history.door import let_through, usual_record
from rounds.history.files import survey
from rounds.history.incoming import BESIDE_A_HISTORY, HISTORY_ENTRY, each_in_zip
from rounds.history.journal import body_of, parse, salvaged
from rounds.history.lines import bodies_of_month
from rounds.history.places import history_folder
from rounds.history.record import Record
from rounds.history.strict import STORED, strict_doc
from rounds.text import clean_line


class Lines(Sequence[Record]):
    """Records as their sealed lines, each made when it is asked for; of `usual` ones nothing is looked at again."""

    def __init__(self, lines: Sequence[bytes], *, usual: bool = False) -> None:
        self.lines = lines
        self._made = _usual_in if usual else record_in

    def __len__(self) -> int:
        return len(self.lines)

    @overload
    def __getitem__(self, place: int) -> Record: ...
    @overload
    def __getitem__(self, place: slice) -> "Lines": ...
    def __getitem__(self, place: int | slice) -> "Record | Lines":
        return Lines(self.lines[place]) if isinstance(place, slice) else self._made(self.lines[place])

    def __iter__(self) -> Iterator[Record]:
        return map(self._made, self.lines)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and len(self) == len(other) and all(map(eq, self, other))

    __hash__ = None  # type: ignore[assignment]


def record_in(line: bytes) -> Record:
    """Make the record of a sealed line that was found to hold one."""
    body = body_of(line)
    record = usual_record(body) or let_through(strict_doc(body, STORED))[0]
    if record is None:
        raise BadInput("A line that came in holds no record.")
    return record


def _usual_in(line: bytes) -> Record:
    return msgspec.json.decode(body_of(line), type=Record)


def bodies_from(other: Path, told: list[str]) -> Iterator[tuple[str, bytes]]:
    """Give the JSON of every line of a farm, a history, a device's folder, a journal or a zip, with its device.

    Parameters
    ----------
    told : list of str
        What could not be read is added to it, a sentence each.

    Raises
    ------
    NotFound
        Where there is nothing of the kind.
    BadInput
        Where a zip breaks a rule.
    """
    if other.is_file() and other.suffix == ".zip":
        for name, data in each_in_zip(other, [HISTORY_ENTRY, BESIDE_A_HISTORY]):
            match = HISTORY_ENTRY.fullmatch(name)
            if match is not None:
                yield from ((match["device"], body) for body, _ in _strict(name, data, told))
    elif other.is_file():
        yield from _of_a_journal(other, told)
    else:
        yield from _of_a_folder(other, told)


def _of_a_folder(other: Path, told: list[str]) -> Iterator[tuple[str, bytes]]:
    folder = history_folder(other)
    seen = survey(folder)
    told.extend(seen.told)
    months = seen.months or {
        key: each for key, each in survey(other.resolve().parent).months.items() if key[0] == other.resolve().name
    }
    for files in months.values():
        for body in bodies_of_month(Disk(), files, told):
            yield files.device, body


def _of_a_journal(journal: Path, told: list[str]) -> Iterator[tuple[str, bytes]]:
    try:
        data = Disk().read_any(journal, LARGEST_FILE)
    except OSError as error:
        raise NotFound(f"{clean_line(str(journal))} cannot be read: {error.strerror or error}.") from error
    return ((device, body) for body, device in _strict(journal.name, data, told))


def _strict(name: str, data: bytes, told: list[str]) -> Iterator[tuple[bytes, str]]:
    """Give the lines of a file that keep the rules, each with the device that it names."""
    parsed = parse(data) if name.endswith(".jsonl") else None
    bodies = parsed.bodies if parsed else salvaged(data)
    if parsed and (parsed.damaged or parsed.unfinished):
        told.append(f"{clean_line(name)} is damaged or not complete: {len(bodies)} records could be read.")
    for body in bodies:
        try:
            usual = usual_record(body)
            yield body, usual.device if usual is not None else str(strict_doc(body).get("device"))
        except BadInput as error:
            told.append(f"A line of {clean_line(name)} was passed over: {error.sentence}")
