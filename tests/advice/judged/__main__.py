"""The corrections judged from outside: reservoirs that share no form with the tool.

    python -m tests.advice.judged --make second --n 1000 --seed 1 --json

meets n healthy reservoirs, a tenth as many of each story, and lives two weeks with a twentieth as many. With
`--story NAME` only that one is met, n times. `--make MODULE:CLASS` plugs in another make, `--advisor MODULE:CLASS`
another advisor. Figures go to standard output; what broke down stands in them too, by story and seed. Exit code 1
where anything did.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import asdict

from tests.advice.judged.contact import Contact
from tests.advice.judged.figures import Figures, judged, table
from tests.advice.judged.life import DAYS, Life
from tests.advice.judged.running import TOOL, Crash, Task, run, seeds
from tests.advice.judged.stories import FAULTS, HEALTHY, STORIES


def main(arguments: Sequence[str] | None = None) -> int:
    """Run and print; the exit code."""
    args = _parsed(arguments)
    asked = {"make": args.make, "advisor": args.advisor, "seed": args.seed, "refuses": args.refuses}
    figures = {"asked": asked, **judgement(tasks_of(args), args.processes)}
    print(json.dumps(figures, indent=1) if args.json else _told(figures))
    return 1 if figures["broke_down"] else 0


def judgement(tasks: Sequence[Task], processes: int = 1) -> Figures:
    """The figures of all of them."""
    found = run(tasks, processes)
    contacts = [each for each in found if isinstance(each, Contact)]
    figures = judged(contacts, [each for each in found if isinstance(each, Life)])
    return figures | {"broke_down": [asdict(each) for each in found if isinstance(each, Crash)]}


def tasks_of(args: argparse.Namespace) -> list[Task]:
    """Which reservoirs are met and lived with."""

    def some(story: str, count: int, days: int = 0) -> list[Task]:
        return [Task(args.make, args.advisor, seed, story, args.refuses, days) for seed in seeds(args.seed, count)]

    if args.story != "all":
        return some(args.story, args.n)
    each = max(1, args.n // 10) if args.n_story is None else args.n_story
    lives = max(1, args.n // 20) if args.n_life is None else args.n_life
    found = some(HEALTHY, args.n)
    for story in FAULTS:
        found += some(story, each)
    return found + some(HEALTHY, lives, args.days)


def _told(figures: Figures) -> str:
    broke = [f"broke down: {each['story']} {each['seed']}: {each['error']}" for each in figures["broke_down"]]
    return "\n".join([table(figures), *broke])


def _parsed(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.advice.judged", description=__doc__.partition("\n")[0])
    parser.add_argument("--make", default="second", help="second, or MODULE:CLASS")
    parser.add_argument("--advisor", default=TOOL, metavar="MODULE:CLASS")
    parser.add_argument("--n", type=int, default=100, help="how many healthy reservoirs, or of the story")
    parser.add_argument("--n-story", type=int, help="how many of each story: without it a tenth")
    parser.add_argument("--n-life", type=int, help="how many are lived with: without it a twentieth")
    parser.add_argument("--days", type=int, default=DAYS, help="how long: the first half teaches")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--story", default="all", choices=("all", *STORIES))
    parser.add_argument("--refuses", action="store_true", help="a grower who answers no question")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    sys.exit(main())
