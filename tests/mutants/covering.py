"""Which tests enter which function: found once by running them, kept per test file, and asked for each fault."""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from queue import SimpleQueue

from tests.mutants.faults import Fault
from tests.mutants.trees import Tree

_LONGEST_FILE_S = 1200.0
_FRONTS = ("cli", "screens", "widgets")
"""Rooms whose tests are slow and look at everything from afar: last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Test:
    """A test that passes where there is no fault."""

    id: str
    seconds: float
    entered: frozenset[str]


def rooms_that_use(top: Path, room: str) -> list[str]:
    """The room itself, then the rooms that import it, the slow fronts last."""
    using = [each.name for each in sorted((top / "rounds").iterdir()) if each.is_dir() and room in _imported(each)]
    ordered = sorted(using, key=lambda name: name in _FRONTS)
    return [room, *(name for name in ordered if name != room and (top / "tests" / name).is_dir())]


def _imported(package: Path) -> set[str]:
    return {name.split(".")[1] for path in package.rglob("*.py") for name in _imports(path) if name.count(".")}


def _imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("rounds"):
            yield from (f"{node.module}.{each.name}" for each in node.names)


def covering(top: Path, rooms: Sequence[str], trees: Sequence[Tree], kept: Path) -> dict[str, Test]:
    """Every test of some rooms with what it enters.

    Parameters
    ----------
    kept : Path
        A folder where what was found is kept, by the content of the package and of the test file.
    """
    kept.mkdir(parents=True, exist_ok=True)
    package = _hash(sorted((top / "rounds").rglob("*.py")))
    shared = _hash(sorted({*(top / "tests").glob("*.py"), *(top / "tests").rglob("conftest.py")}))
    free: SimpleQueue[Tree] = SimpleQueue()
    for tree in trees:
        free.put(tree)

    def watched(path: Path) -> dict[str, Test]:
        notes = kept / f"{package}-{shared}-{_hash([path])}.json"
        if not notes.exists():
            tree = free.get()
            tree.pytest({"watch": str(notes)}, [str(path.relative_to(top))], _LONGEST_FILE_S)
            free.put(tree)
        return _read(notes)

    files = [path for room in rooms for path in sorted((top / "tests" / room).glob("test_*.py"))]
    with ThreadPoolExecutor(len(trees)) as workers:
        return {test: found for each in workers.map(watched, files) for test, found in each.items()}


def _read(notes: Path) -> dict[str, Test]:
    if not notes.exists():
        return {}
    found = json.loads(notes.read_text(encoding="utf-8"))
    return {
        test: Test(id=test, seconds=note["seconds"], entered=frozenset(note.get("entered", ())))
        for test, note in found.items()
        if note["passed"]
    }


def _hash(paths: Sequence[Path]) -> str:
    return blake2b(b"".join(path.read_bytes() for path in paths), digest_size=6).hexdigest()


def tests_for(top: Path, fault: Fault, tests: Mapping[str, Test], room: str, budget_s: float) -> list[Test]:
    """The tests that enter the function of a fault, quick ones first, those of the room itself before the others.

    Outside of every function: those that enter any function of the module, or of a module that imports from it.
    """
    if fault.function is not None:
        places = {f"{fault.path}:{fault.function}"}
        found = [test for test in tests.values() if test.entered & places]
    else:
        near = {fault.path, *_modules_that_import(top, fault.path)}
        found = [test for test in tests.values() if near & {each.rpartition(":")[0] for each in test.entered}]
    found.sort(key=lambda test: (test.seconds > 1.0, not test.id.startswith(f"tests/{room}/"), test.seconds))
    chosen, spent = [], 0.0
    for test in found:
        spent += test.seconds
        if spent <= budget_s or not chosen:
            chosen.append(test)
    return chosen


def _modules_that_import(top: Path, path: str) -> set[str]:
    name = path.removesuffix(".py").replace("/", ".").removesuffix(".__init__")
    files = (top / "rounds").rglob("*.py")
    return {
        str(each.relative_to(top)) for each in files if any(f"{one}.".startswith(f"{name}.") for one in _imports(each))
    }
