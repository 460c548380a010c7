"""farm.toml rewritten: comments, order and everything else stay, and the difference is shown before."""

from __future__ import annotations

import contextlib
import difflib
import os
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rounds.errors import BadInput, NotFound, NotSaved, Refused
from rounds.farm.splice import with_changed
from rounds.farm.toml_slips import Slip, read_tables

FARM_FILE = "farm.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What would be written: the file as it is and as it would be."""

    path: Path
    before: str
    after: str

    @property
    def is_new(self) -> bool:
        """Whether there is anything to write."""
        return self.before != self.after

    def preview(self) -> str:
        """The difference as a unified diff; empty where nothing changes."""
        before, after = self.before.splitlines(), self.after.splitlines()
        top = _alike(before, after)
        end = _alike(before[top:][::-1], after[top:][::-1])
        old, new = (lines[max(0, top - 2) : len(lines) - max(0, end - 2)] for lines in (before, after))
        changed = difflib.unified_diff(old, new, f"{FARM_FILE} now", f"{FARM_FILE} then", n=2, lineterm="")
        return "\n".join(line for line in changed if not line.startswith("@@"))


def change_station(farm_folder: Path, station_id: str, values: Mapping[str, Any]) -> Change:
    """Work out what farm.toml would become with some values of one station changed, without writing.

    Raises
    ------
    NotFound
        Where there is no farm.toml, or no such station in it.
    BadInput
        Where farm.toml is no TOML.
    Refused
        Where the entry is written in a way that cannot be changed without changing something else.
    """
    path, before = read_text(farm_folder)
    data = parsed(before)
    known = next((s for s in data.get("stations", []) if s.get("id") == station_id), None)
    if known is None:
        raise NotFound(f"There is no station “{station_id}” in {FARM_FILE}.")
    after = with_changed(before, station_id, dict(values))
    check_result(data, parsed(after), station_id, {**known, **values})
    return Change(path=path, before=before, after=after)


def write(change: Change) -> None:
    """Write a prepared change durably: whole or not at all.

    Raises
    ------
    Refused
        Where the file has changed since the preview.
    NotSaved
        Where the disk refuses; the file is then as it was.
    """
    _, now = read_text(change.path.parent)
    if now != change.before:
        raise Refused(f"{FARM_FILE} has changed since the preview.", "Look at the difference again, then write.")
    target = change.path.resolve()
    handle, unfinished = -1, ""
    try:
        handle, unfinished = tempfile.mkstemp(prefix=".farm-", suffix=".toml", dir=target.parent)
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(change.after)
            file.flush()
            os.fsync(file.fileno())
        Path(unfinished).chmod(target.stat().st_mode & 0o777)
        Path(unfinished).replace(target)
        _sync_folder(target.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(unfinished).unlink(missing_ok=True)
        raise NotSaved(f"{FARM_FILE} could not be written: {error.strerror}.", "It is as it was before.") from error


def read_text(farm_folder: Path) -> tuple[Path, str]:
    """Its path and text, as they are now.

    Raises
    ------
    NotFound, BadInput
        Where there is none, or it cannot be read.
    """
    path = farm_folder / FARM_FILE
    try:
        return path, path.read_bytes().decode("utf-8")
    except (FileNotFoundError, NotADirectoryError) as error:
        raise NotFound(
            f"{farm_folder} is not a farm folder: it has no {FARM_FILE}.", "Give the farm's folder."
        ) from error
    except UnicodeDecodeError as error:
        raise BadInput(f"{FARM_FILE} is not UTF-8 text.", "Save it as UTF-8.") from error
    except OSError as error:
        raise NotFound(f"{path} cannot be read: {error.strerror}.") from error


def parsed(text: str) -> dict[str, Any]:
    """The tables of its text.

    Raises
    ------
    BadInput
        Where it is no TOML, with the line.
    """
    read = read_tables(text.encode())
    if isinstance(read, Slip):
        where = f"line {read.line}, column {read.column}"
        raise BadInput(f"{FARM_FILE}, {where} can't be read: {read.how}.", f"\n{read.picture}")
    return read


def check_result(before: dict[str, Any], after: dict[str, Any], station_id: str, expected: dict[str, Any]) -> None:
    """Whatever the text looks like, the farm that is read from it must be the old one and this station as expected.

    Raises
    ------
    Refused
        Where it is not.
    """

    def others(data: dict[str, Any]) -> list[Any]:
        return [s for s in data.get("stations", []) if s.get("id") != station_id]

    rest_is_same = {**before, "stations": 0} == {**after, "stations": 0} and others(before) == others(after)
    entries = [s for s in after.get("stations", []) if s.get("id") == station_id]
    if not rest_is_same or entries != [expected]:
        raise Refused(
            f"{station_id} could not be written into {FARM_FILE} without changing something else.",
            "Write it in by hand; the command line shows the values with --json.",
        )


def _alike(one: Sequence[str], other: Sequence[str]) -> int:
    """How many lines at the start are the same."""
    same = 0
    while same < min(len(one), len(other)) and one[same] == other[same]:
        same += 1
    return same


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
