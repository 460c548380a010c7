"""What lies beside the records in what somebody hands over: statements, and the name of the farm."""

import json
import tomllib
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rounds.history.statements import MOST_BYTES, STATEMENTS, read_statements, statements_in
from rounds.text import clean_line

_MOST_TOML_BYTES = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What a farm folder, a history, a journal or a zip says of itself; nothing of it is proven."""

    statements: tuple[bytes, ...] = ()
    farm_name: str = ""


def beside(other: Path) -> Beside:
    """Look for what lies beside records; what cannot be read is not there, and the records' own reader says why."""
    try:
        if other.is_dir():
            return _in_folder(other)
        if other.is_file() and other.suffix == ".zip":
            return _in_zip(other)
        if other.is_file():
            return Beside(statements=tuple(read_statements(other.resolve().parent.parent)))
    except (OSError, ValueError, zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError):
        pass
    return Beside()


def _in_folder(other: Path) -> Beside:
    history = other / "history" if (other / "history").is_dir() else other
    farm = next((each for each in (other, history.parent) if (each / "farm.toml").is_file()), None)
    name = ""
    if farm is not None:
        with (farm / "farm.toml").open("rb") as file:
            name = _name_in_toml(file.read(_MOST_TOML_BYTES))
    return Beside(statements=tuple(read_statements(history)), farm_name=name)


def _in_zip(other: Path) -> Beside:
    found: dict[bytes, None] = {}
    name, left = "", MOST_BYTES
    with zipfile.ZipFile(other) as archive:
        for entry in archive.infolist():
            if entry.filename.endswith(f"/{STATEMENTS}") and left > 0:
                data = _start_of(archive, entry, left)
                left -= len(data)
                found.update(dict.fromkeys(statements_in(data)))
            elif entry.filename == "farm.toml":
                name = name or _name_in_toml(_start_of(archive, entry, _MOST_TOML_BYTES))
            elif entry.filename == "bundle.json":
                name = _name_in_json(_start_of(archive, entry, _MOST_TOML_BYTES)) or name
    return Beside(statements=tuple(found), farm_name=name)


def _start_of(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int) -> bytes:
    with archive.open(entry) as file:
        return file.read(most)


def _name_in_toml(data: bytes) -> str:
    """The name of a farm: only the lines before the first table are read, whatever stands behind them."""
    head = data.decode("utf-8-sig", errors="replace").split("\n[", 1)[0]
    try:
        return _as_name(tomllib.loads(head[:4_096]).get("name"))
    except (ValueError, RecursionError):
        return ""


def _name_in_json(data: bytes) -> str:
    try:
        found = json.loads(data)
    except (ValueError, RecursionError):
        return ""
    return _as_name(found.get("farm")) if isinstance(found, dict) else ""


def _as_name(name: Any) -> str:
    return clean_line(name, 80) if isinstance(name, str) else ""
