"""The versions of the farm's files: format 2 reads all that format 1 holds, and has keys that 1 does not know."""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rounds.errors import NotSaved
from rounds.farm.field_types import NEWEST_FORMAT
from rounds.farm.reading_files import MistakeList

FILES = ("farm.toml", "feeds.toml", "shelf.toml")
SINCE_2: Mapping[str, Mapping[str, frozenset[str]]] = {
    "shelf.toml": {"products": frozenset({"label"})},
    "feeds.toml": {"feeds": frozenset({"part_c", "c_ml_per_l", "part_d", "d_ml_per_l"})},
    "farm.toml": {"waters": frozenset({"hardness", "alkalinity", "softener"})},
}
"""Keys that came with format 2, by file and table. An older program would take a row with one of them for mistaken."""
_ALKALINITY = frozenset({"alkalinity_meq_l", "alkalinity_mg_l_caco3", "hco3_mg_l"})
_NEEDED = "format = 2 in this file: `rounds check FARM --migrate` writes that, comments kept"
_FORMAT_LINE = re.compile(r"(?m)^([ \t]*format[ \t]*=[ \t]*)1([ \t]*(?:#.*)?\r?)$")
_FIRST_TABLE = re.compile(r"(?m)^[ \t]*\[")


def check_format(file: str, raw: Mapping[str, Any], mistakes: MistakeList) -> None:
    """Note a format that this program does not know, and keys that the format of the file does not have."""
    found = raw.get("format", "nothing")
    if isinstance(found, bool) or not isinstance(found, int) or found < 1:
        mistakes.note(file, "format", found, f"1 or {NEWEST_FORMAT}, the version of these files")
    elif found > NEWEST_FORMAT:
        newer = f"{NEWEST_FORMAT} at most: the file is for a newer version of this program, so bring that up to date"
        mistakes.note(file, "format", found, newer)
    elif found == 1:
        _note_newer_keys(file, raw, mistakes)


NEEDED_IN_1: Mapping[str, Mapping[str, frozenset[str]]] = {
    "feeds.toml": {"feeds": frozenset({"part_b", "b_ml_per_l"})},
    "shelf.toml": {},
    "farm.toml": {"waters": frozenset({"ph", "ec_ms_cm"})},
}
"""Keys that format 1 cannot do without, and format 2 can."""


def _note_newer_keys(file: str, raw: Mapping[str, Any], mistakes: MistakeList) -> None:
    for table, keys in SINCE_2[file].items():
        rows = raw.get(table)
        for number, row in enumerate(rows if isinstance(rows, list) else []):
            for key in sorted(keys & set(row)) if isinstance(row, dict) else []:
                mistakes.note(file, f"{table}[{number}].{key}", row[key], _NEEDED)
            for key in sorted(NEEDED_IN_1[file].get(table, frozenset()) - set(row)) if isinstance(row, dict) else []:
                mistakes.note(file, f"{_named(table, number, row)}.{key}", "nothing", "a value")
    place = raw.get("place") if file == "farm.toml" else None
    if isinstance(place, dict) and "country" in place:
        mistakes.note(file, "place.country", place["country"], _NEEDED)
    waters = raw.get("waters") if file == "farm.toml" else None
    for number, row in enumerate(waters if isinstance(waters, list) else []):
        if isinstance(row, dict) and not _ALKALINITY & set(row):
            needed = f"exactly one of {', '.join(sorted(_ALKALINITY))}"
            mistakes.note(file, f"{_named('waters', number, row)}.alkalinity", "nothing", needed)


def _named(table: str, number: int, row: Mapping[str, Any]) -> str:
    """A row by its id, by which a dose that hangs on it is held back; by its place where it has none."""
    return f"{table}.{row['id']}" if isinstance(row.get("id"), str) else f"{table}[{number}]"


@dataclass(frozen=True, slots=True)
class Migrated:
    """One of the farm's files, and whether it was rewritten."""

    file: str
    rewritten: bool

    @property
    def sentence(self) -> str:
        """What was done, for the grower."""
        done = f"is format {NEWEST_FORMAT} now; everything else in it stands as it was"
        return f"{self.file} {done if self.rewritten else 'is left as it is'}."


def migrate(folder: Path) -> list[Migrated]:
    """Bring the files of a farm to the newest format; comments, order and blanks stay as they are.

    Raises
    ------
    NotSaved
        Where the disk refuses; each file is then whole, as it was or as it is to be.
    """
    found = []
    for name in FILES:
        path = folder / name
        try:
            before = path.read_bytes().decode("utf-8") if path.exists() else ""
        except (OSError, ValueError):
            before = ""
        after = _rewritten(before)
        if after != before:
            _write(path, after)
        found.append(Migrated(name, after != before))
    return found


def _rewritten(text: str) -> str:
    first = _FIRST_TABLE.search(text)
    end = first.start() if first else len(text)
    return _FORMAT_LINE.sub(rf"\g<1>{NEWEST_FORMAT}\2", text[:end], count=1) + text[end:]


def _write(path: Path, text: str) -> None:
    """Whole or not at all, with the rights it had."""
    target, unfinished = path.resolve(), ""
    try:
        handle, unfinished = tempfile.mkstemp(prefix=f".{path.stem}-", suffix=".toml", dir=target.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        Path(unfinished).chmod(target.stat().st_mode & 0o777)
        Path(unfinished).replace(target)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(unfinished).unlink()
        raise NotSaved(f"{path.name} could not be written: {error.strerror or error}.", "It is as it was.") from error
