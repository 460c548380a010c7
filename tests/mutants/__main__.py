"""Deliberate faults: does a test notice when the code is wrong?

    python -m tests.mutants --room walk --n 50 --seed 1

draws faults from the modules of a room (a package below `rounds`): comparisons, signs, and/or, min/max, conditions
turned round, constants, `return` of nothing, calls left out, slices off by one, arguments of the same type swapped;
none in docstrings, messages, type hints and imports, in what only another operating system does, and in the `strict`
of a zip (which only guards against mistakes in the code itself). Each is put into a copy of the checkout, never into
the checkout itself. The tests that enter the faulty function are run there in a fresh process until one fails: quick
ones first, those of the room before those of the rooms that use it; a test that takes far longer than without the fault
has noticed it.

Which test enters which function is found by running them once (minutes), and kept in the folder of temporary files
while neither the package nor that test file changes. What only a process started by a test enters is not seen. Exit
code 0 where at most 2 faults lived. Not each that lives could be met by a grower: some change nothing that can be
seen.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import SimpleQueue

from tests.mutants.covering import Test, covering, rooms_that_use, tests_for
from tests.mutants.faults import Fault, drawn
from tests.mutants.running import Verdict, verdict
from tests.mutants.trees import Tree

MOST_THAT_MAY_LIVE = 2
TOP = Path(__file__).parents[2]


def main(arguments: Sequence[str] | None = None) -> int:
    """Draw, run and tell; the exit code."""
    args = _parsed(arguments)
    rooms = args.rooms or rooms_that_use(args.top, args.room)
    modules = [str(path.relative_to(args.top)) for path in sorted((args.top / "rounds" / args.room).rglob("*.py"))]
    faults = drawn(args.top, [each for each in modules if args.only in each], args.n, args.seed)
    with tempfile.TemporaryDirectory(prefix="mutants-", dir=_memory()) as folder:
        trees = [Tree(args.top, Path(folder) / f"{number}") for number in range(args.processes)]
        tests = covering(args.top, rooms, trees, args.kept)
        print(f"{len(tests)} tests of {', '.join(rooms)}", flush=True)
        chosen = [(fault, tests_for(args.top, fault, tests, args.room, args.budget)) for fault in faults]
        found = _run(trees, chosen)
    lived = [each for each in found if not each.caught_by]
    for each in lived:
        print(each)
    print(f"{len(found)} drawn, {len(found) - len(lived)} caught, {len(lived)} lived")
    return 0 if len(lived) <= MOST_THAT_MAY_LIVE else 1


def _run(trees: Sequence[Tree], chosen: Sequence[tuple[Fault, list[Test]]]) -> list[Verdict]:
    free: SimpleQueue[Tree] = SimpleQueue()
    for tree in trees:
        free.put(tree)

    def one(pair: tuple[Fault, list[Test]]) -> Verdict:
        tree = free.get()
        found = verdict(tree, *pair)
        free.put(tree)
        print(found, flush=True)
        return found

    with ThreadPoolExecutor(len(trees)) as workers:
        return list(workers.map(one, chosen))


def _parsed(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__.partition("\n")[0])
    parser.add_argument("--room", required=True, help="a package below rounds")
    parser.add_argument("--n", type=int, default=50, help="how many faults")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", metavar="PART", help="only modules with this in their path")
    parser.add_argument("--rooms", nargs="*", help="whose tests count: without it the room and those that use it")
    parser.add_argument("--budget", type=float, default=60.0, help="seconds of tests for one fault, quick ones first")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--kept", type=Path, default=Path(tempfile.gettempdir()) / "rounds-mutants")
    parser.add_argument("--top", type=Path, default=TOP, help="the checkout")
    return parser.parse_args(arguments)


def _memory() -> Path | None:
    """A folder in memory, where there is one."""
    folder = Path("/dev/shm")
    return folder if folder.is_dir() else None


if __name__ == "__main__":
    sys.exit(main())
