"""The record is read in one place: above the book nobody asks a record for its kind, or looks into its data."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import rounds

HOUSE = Path(rounds.__file__).parent
MAY_LOOK = ("history", "book", "farm")
"""The farm's files lie below the book: what has a kind there is a station."""
ROOMS = sorted(p for p in HOUSE.rglob("*.py") if p.relative_to(HOUSE).parts[0] not in MAY_LOOK)


def looks_into_records(source: str) -> list[int]:
    """Lines that compare a `.kind`, match on one, or use a `.data`."""
    found = []
    for node in ast.walk(ast.parse(source)):
        compared = [node.left, *node.comparators] if isinstance(node, ast.Compare) else []
        matched = [node.subject] if isinstance(node, ast.Match) else []
        kinds = any(isinstance(each, ast.Attribute) and each.attr == "kind" for each in (*compared, *matched))
        if kinds or (isinstance(node, ast.Attribute) and node.attr == "data"):
            found.append(node.lineno)
    return found


@pytest.mark.parametrize("path", ROOMS, ids=lambda path: str(path.relative_to(HOUSE)))
def test_a_room_above_the_book_asks_it_what_a_record_says(path: Path) -> None:
    assert looks_into_records(path.read_text(encoding="utf-8")) == []


def test_a_look_into_a_record_is_noticed() -> None:
    assert looks_into_records("if record.kind == 'dose': pass") == [1]
    assert looks_into_records("a = 1\nb = record.data.get('x')") == [2]
    assert looks_into_records("match record.kind:\n    case 'dose': pass") == [1]
    assert looks_into_records("x = isinstance(entry, Dose)") == []
