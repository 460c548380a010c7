"""What is left of a correction at a reservoir where a record of an unknown kind may have changed the contents."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from msgspec.structs import replace

from rounds.book.actions import MEASURED
from rounds.book.entry import Entry, RecordLike
from rounds.book.newer import CODE, INSTEAD, standing, told
from rounds.book.offer import Correction, Finding, Refusal
from rounds.farm.farm import Farm


def held_back(found: Correction, farm: Farm, records: Iterable[RecordLike | Entry], now: datetime) -> Correction:
    """The correction without its steps; the same with a word beside it where it begins with a change-out.

    A change-out is worked out from the fresh water alone, and what the record told of runs out with the old feed. It is
    asked for by what was read, whatever the record says.
    """
    unknown = standing(farm, farm.reservoir(found.reservoir_id), records)
    if not unknown:
        return found
    return shut(found, CODE, f"{told(unknown[-1], now)}.", INSTEAD)


def shut(found: Correction, code: str, text: str, instead: str) -> Correction:
    """The correction without its steps, because of what nobody knows; a change-out ends that, and stays."""
    first = next((step for step in found.steps if step.action in MEASURED), None)
    if first is not None and first.action == "change_out":
        said = Finding(code=code, severity="act", text=f"{text} The change-out ends that.")
        return replace(found, findings=(said, *found.findings))
    return replace(found, steps=(), refusals=(Refusal(code=code, text=text, instead=instead), *found.refusals))
