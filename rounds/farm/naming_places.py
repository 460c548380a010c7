"""Where in a farm's files a mistake is, in words: by the id of what it is in, else counted from 1."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from rounds.farm.farm import Mistake

_ROW = re.compile(r"([a-z_]+)\[([0-9]+)\](.*)\Z")
_CALLED = re.compile(r"([a-z_]+)\.([^.\[]+)\.(.+)\Z")
_INNER = re.compile(r"\[([0-9]+)\]")
_ONE_OF = {
    "stations": "station", "waters": "water", "meters": "meter", "people": "person", "contacts": "contact",
    "feeds": "feed", "products": "product", "items": "item",
}  # fmt: skip


def named(mistakes: Iterable[Mistake], files: Mapping[str, Mapping[str, Any]]) -> Iterator[Mistake]:
    """The mistakes, each with its place in words.

    Parameters
    ----------
    files : mapping from file name to its tables
        As they were read, sound or not.
    """
    return (
        each if each.unreadable else replace(each, where=in_words(each.key, files.get(each.file, {})))
        for each in mistakes
    )


def in_words(key: str, tables: Mapping[str, Any]) -> str:
    """The path of a key in words.

    Examples
    --------
    >>> in_words("stations[2].shape", {"stations": [{}, {}, {"id": "butt-1"}]})
    'station butt-1, shape'
    >>> in_words("stations[2].dip_table[0]", {"stations": [{}, {}, {}]})
    'station 3 of the file, dip_table, entry 1'
    """
    row, called = _ROW.match(key), _CALLED.match(key)
    if called is not None and called[1] in _ONE_OF:
        return f"{_ONE_OF[called[1]]} {called[2]}, {_inner(called[3])}"
    if row is None:
        return _inner(key)
    name, number, rest = row[1], int(row[2]), row[3]
    what = _ONE_OF.get(name, name)
    row_id = _id_of(tables.get(name), number)
    first = f"{what} {row_id}" if row_id else f"{what} {number + 1} of the file"
    return ", ".join(part for part in (first, _inner(rest)) if part)


def _id_of(rows: object, number: int) -> str:
    row = rows[number] if isinstance(rows, list) and number < len(rows) else None
    found = row.get("id") if isinstance(row, dict) else None
    return found if isinstance(found, str) and found.isprintable() and 0 < len(found) <= 40 else ""


def _inner(path: str) -> str:
    counted = _INNER.sub(lambda match: f", entry {int(match[1]) + 1}", path)
    return counted.lstrip(".").replace(".", ", ") if counted != path or path.startswith(".") else path
