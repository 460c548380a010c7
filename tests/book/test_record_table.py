"""One table says which kinds of record there are: whoever writes one stands in it, and nobody keeps a second list."""

from __future__ import annotations

import ast
import importlib
import inspect
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest

import rounds
from rounds.book.entries import Dose, Entry, Unknown, entry_of
from rounds.book.entry import TYPES
from rounds.record_kinds import KINDS, WRITES_ANY

HOUSE = Path(rounds.__file__).parent
TABLE = HOUSE / "record_kinds.py"
MODULES = {p: ast.parse(p.read_text(encoding="utf-8")) for p in sorted(HOUSE.rglob("*.py"))}
KIND_WORDS = frozenset(KINDS)


def dotted(path: Path) -> str:
    return "rounds." + ".".join(path.relative_to(HOUSE).with_suffix("").parts)


def drafts(tree: ast.Module) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Draft":
            yield node


def kinds_of(path: Path, call: ast.Call) -> set[str]:
    """The kinds that a draft may have, as its source says; a name stands for the text it was given in its module."""
    value = next((word.value for word in call.keywords if word.arg == "kind"), None)
    if value is None:
        return set()
    module = importlib.import_module(dotted(path))
    names = {getattr(module, n.id, None) for n in ast.walk(value) if isinstance(n, ast.Name)}
    branches = [value.body, value.orelse] if isinstance(value, ast.IfExp) else [value]
    texts = {each.value for each in branches if isinstance(each, ast.Constant)}
    return {str(each) for each in texts | {name for name in names if isinstance(name, str)}}


WRITTEN = [
    (path, kind) for path, tree in MODULES.items() for call in drafts(tree) for kind in sorted(kinds_of(path, call))
]


def test_drafts_of_many_kinds_are_found() -> None:
    assert {kind for _, kind in WRITTEN} >= {"reading", "check", "dose", "step", "seen", "round", "given-up"}


@pytest.mark.parametrize(("path", "kind"), WRITTEN, ids=lambda each: str(each)[-30:])
def test_every_draft_has_a_kind_of_the_table_and_its_writer_stands_there(path: Path, kind: str) -> None:
    assert dotted(path) in {writer.partition(":")[0] for writer in KINDS[kind].written_by}


@pytest.mark.parametrize("kind", [kind for kind, row in KINDS.items() if not row.written_by])
def test_what_only_an_earlier_version_wrote_is_written_no_more(kind: str) -> None:
    assert kind not in {each for _, each in WRITTEN}


@pytest.mark.parametrize("writer", sorted({w for row in KINDS.values() for w in row.written_by} | set(WRITES_ANY)))
def test_every_writer_is_a_function(writer: str) -> None:
    module, _, name = writer.partition(":")
    assert inspect.isfunction(getattr(importlib.import_module(module), name))


def test_every_kind_is_read_as_a_type_of_its_own() -> None:
    assert set(TYPES) == set(KINDS) and len(set(TYPES.values())) == len(KINDS)
    assert all(TYPES[kind].kind == kind and TYPES[kind].touches == row.touches for kind, row in KINDS.items())
    assert Dose.touches == {"level", "composition", "stock"}


def test_a_type_of_a_kind_that_has_no_row_is_noticed() -> None:
    with pytest.raises(KeyError, match="moon-phase"):
        type("MoonPhase", (Entry,), {}, kind="moon-phase")
    assert "moon-phase" not in TYPES


def test_a_kind_that_the_table_does_not_have_is_unknown() -> None:
    assert type(entry_of(SimpleNamespace(kind="moon-phase", data={}))) is Unknown


def second_lists(tree: ast.Module) -> list[int]:
    """Lines of a display of three or more different kinds: a list of kinds beside the table."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Dict):
            texts = [key.value for key in node.keys if isinstance(key, ast.Constant)]
        elif isinstance(node, ast.List | ast.Set | ast.Tuple):
            texts = [each.value for each in node.elts if isinstance(each, ast.Constant)]
        else:
            continue
        if len({text for text in texts if text in KIND_WORDS}) >= 3:
            found.append(node.lineno)
    return found


@pytest.mark.parametrize("path", [p for p in MODULES if p != TABLE], ids=lambda path: str(path.relative_to(HOUSE)))
def test_nobody_keeps_a_second_list_of_kinds(path: Path) -> None:
    assert second_lists(MODULES[path]) == []


def test_a_second_list_is_noticed() -> None:
    assert second_lists(ast.parse('KINDS = {"dose": 1, "note": 2, "skip": 3}')) == [1]
    assert second_lists(ast.parse('a = 1\nSOME = ("dose", "note", "skip", "x")')) == [2]
    assert second_lists(ast.parse('TWO = ("dose", "note")')) == []
