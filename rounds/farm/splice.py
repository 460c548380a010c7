"""A station's block in the text of farm.toml: added or changed, while comments, order and all else stay as they are."""

from __future__ import annotations

import contextlib
import re
import tomllib
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from rounds.errors import Refused

if TYPE_CHECKING:
    from tomlkit.items import Table

_HEADER = re.compile(r"\s*\[\[?\s*([A-Za-z0-9_\"'.\- ]+?)\s*\]\]?\s*(#.*)?$")
_QUOTES = ('"""', "'''")
_MARKS = r'"""|\'\'\'|#|"(?:[^"\\]|\\.)*"|\'[^\']*\''


def with_new(text: str, entry: dict[str, Any]) -> str:
    """Put a new channel behind the last one, or behind the last station, or at the end."""
    import tomlkit

    table = tomlkit.table()
    _fill(table, entry)
    document = tomlkit.document()
    array = tomlkit.aot()
    array.append(table)
    document.append("stations", array)
    newline = _newline(text)
    block = tomlkit.dumps(document).strip().replace("\n", newline)
    lines = text.splitlines(keepends=True)
    stations = _stations(lines)
    channels = [
        s for s in stations if re.search(r"^\s*kind\s*=\s*[\"']channel[\"']", "".join(lines[s[0] : s[1]]), re.M)
    ]
    at = (channels or stations or [(0, len(lines))])[-1][1]
    above = "".join(lines[:at])
    if above and not above.endswith("\n"):
        above += newline
    gap = newline if above else ""
    below = "".join(lines[at:])
    return above + gap + block + newline + below


def with_changed(text: str, channel_id: str, wanted: dict[str, Any]) -> str:
    """Change one station's entry in place.

    Raises
    ------
    Refused
        Where the entry cannot be found as a block of its own.
    """
    import tomlkit

    lines = text.splitlines(keepends=True)
    for start, end in _stations(lines):
        block = "".join(lines[start:end])
        with contextlib.suppress(tomllib.TOMLDecodeError):
            if tomllib.loads(block)["stations"][0].get("id") == channel_id:
                document = tomlkit.parse(block)
                _fill(document["stations"][0], wanted)
                changed = tomlkit.dumps(document).rstrip().replace("\r\n", "\n").replace("\n", _newline(text))
                return "".join(lines[:start]) + changed + _newline(text) + "".join(lines[end:])
    raise Refused(f"The entry of {channel_id} in farm.toml is written in a way that cannot be changed here.",
                  "Change it by hand.")  # fmt: skip


def _fill(table: Table, values: dict[str, Any]) -> None:
    """Set only what differs, so that everything else keeps its layout."""
    import tomlkit

    for key, value in values.items():
        if isinstance(value, dict):
            if key not in table:
                table.append(key, tomlkit.table())
            _fill(table[key], value)
        elif key not in table:
            table.add(key, value)
        elif table[key] != value:
            table[key] = value


def _stations(lines: list[str]) -> list[tuple[int, int]]:
    """First line and end of each `[[stations]]` with its sub-tables, without the comments above the next one."""
    headers = [*_headers(lines), (len(lines), "")]
    tables = [(number, name) for number, name in headers if not name.startswith("stations.")]
    return [
        (start, _without_tail(lines, start, end))
        for (start, name), (end, _) in pairwise(tables)
        if name == "stations" and lines[start].lstrip().startswith("[[")
    ]


def _headers(lines: list[str]) -> Iterator[tuple[int, str]]:
    """Line and name of each header of a table."""
    inside = _inside_texts(lines)
    for number, line in enumerate(lines):
        header = None if number in inside else _HEADER.match(line)
        if header:
            yield number, header.group(1)


def _inside_texts(lines: list[str]) -> set[int]:
    """Numbers of the lines that begin inside a text of several lines."""
    found: set[int] = set()
    quote = ""
    for number, line in enumerate(lines):
        rest = line
        if quote:
            found.add(number)
        while rest:
            mark = re.search(quote or _MARKS, rest)
            if mark is None or mark.group() == "#":
                break
            rest = rest[mark.end() :]
            quote = mark.group() if not quote and mark.group() in _QUOTES else ""
    return found


def _without_tail(lines: list[str], start: int, end: int) -> int:
    while end > start + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    return end


def _newline(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"
