"""No module of a room imports, by way of others of its room, itself; imports inside functions count too."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import rounds

HOUSE = Path(rounds.__file__).parent
ROOMS = sorted(path.name for path in HOUSE.iterdir() if (path / "__init__.py").exists())


def modules_of(room: str) -> dict[str, Path]:
    paths = (HOUSE / room).rglob("*.py")
    return {name_of(path): path for path in paths}


def name_of(path: Path) -> str:
    return ".".join(("rounds", *path.relative_to(HOUSE).with_suffix("").parts)).removesuffix(".__init__")


def imported(tree: ast.AST) -> Iterator[str]:
    """Every name that is imported anywhere in a module, except what only types are checked with."""
    if isinstance(tree, ast.If) and "TYPE_CHECKING" in ast.unparse(tree.test):
        return
    if isinstance(tree, ast.Import):
        yield from (each.name for each in tree.names)
    elif isinstance(tree, ast.ImportFrom):
        yield from (f"{tree.module}.{each.name}" for each in tree.names)
    for child in ast.iter_child_nodes(tree):
        yield from imported(child)


def uses(path: Path, known: dict[str, Path]) -> set[str]:
    names = set(imported(ast.parse(path.read_text(encoding="utf-8"))))
    found = {name if name in known else name.rpartition(".")[0] for name in names}
    return {name for name in found if name in known and known[name] != path}


def circle_in(graph: dict[str, set[str]]) -> list[str]:
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        circle: list[str] = error.args[1]
        return circle
    return []


@pytest.mark.parametrize("room", ROOMS)
def test_no_module_of_a_room_comes_back_to_itself(room: str) -> None:
    known = modules_of(room)
    graph = {name: uses(path, known) for name, path in known.items()}
    assert circle_in(graph) == []


def test_an_import_inside_a_function_counts_and_one_for_types_does_not() -> None:
    inside = "def f():\n    from rounds.advice.gates import shut\n    import rounds.book.entry\n"
    typed = "if TYPE_CHECKING:\n    from rounds.advice.case import Case\n"
    assert set(imported(ast.parse(inside + typed))) == {"rounds.advice.gates.shut", "rounds.book.entry"}
    assert circle_in({"a": {"b"}, "b": {"c"}, "c": {"a"}}) and not circle_in({"a": {"b", "c"}, "b": {"c"}})
