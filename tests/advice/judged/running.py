"""Many reservoirs, one after another or on several processes; same seed, same figures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from importlib import import_module
from multiprocessing import get_context

from tests.advice.judged.contact import Contact, first_contact
from tests.advice.judged.life import Life, lived
from tests.advice.judged.make import Make
from tests.advice.judged.tool import Advisor

MAKES = {
    "second": "tests.advice.judged.second.reservoir:Second",
    "label": "tests.advice.judged.second.less_told:Labelled",
    "label-strip": "tests.advice.judged.second.less_told:LabelledStrip",
}
TOOL = "tests.advice.judged.tool:Tool"


@dataclass(frozen=True)
class Task:
    """One reservoir to be met, or lived with."""

    make: str
    advisor: str
    seed: int
    story: str
    refuses: bool = False
    days: int = 0
    """How many it is lived with; 0 where it is only met. [d]"""


@dataclass(frozen=True)
class Crash:
    """A reservoir at which the tool, or the make, broke down."""

    seed: int
    story: str
    error: str


def run(tasks: Sequence[Task], processes: int = 1) -> list[Contact | Life | Crash]:
    """All of them, in their order."""
    if processes <= 1:
        return [one(task) for task in tasks]
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        return list(pool.map(one, tasks, chunksize=4))


def one(task: Task) -> Contact | Life | Crash:
    """One of them; an error is a finding of its own."""
    make: type[Make] = loaded(MAKES.get(task.make, task.make))
    advisor: type[Advisor] = loaded(task.advisor)
    try:
        if task.days:
            return lived(lambda: make(task.seed, task.story), advisor, task.days)
        return first_contact(make(task.seed, task.story), advisor, refuses=task.refuses)
    except Exception as error:  # noqa: BLE001 - whatever it is, the other reservoirs are still judged
        return Crash(task.seed, task.story, f"{type(error).__name__}: {error}")


def loaded(name: str) -> type:
    """The class of `MODULE:CLASS`.

    Raises
    ------
    ValueError
        Where it is not written so.
    """
    module, _, found = name.partition(":")
    if not found:
        raise ValueError(f"{name!r} is no make: expected {', '.join(MAKES)} or MODULE:CLASS")
    cls: type = getattr(import_module(module), found)
    return cls


def seeds(first: int, count: int) -> Iterable[int]:
    """So many seeds that no other first seed shares."""
    return range(1_000_000 * first, 1_000_000 * first + count)
