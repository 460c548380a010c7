"""What a correction foresees, in the form its record keeps: the recheck and the next morning are held against it."""

from __future__ import annotations

import math
from typing import Any

from rounds.advice.case import Case
from rounds.advice.planning_ph import FORECAST_H
from rounds.advice.projection import Projection
from rounds.belief import state as b
from rounds.belief.memory import kept
from rounds.book.offer import FORMAT


def foreseen(case: Case, last: Projection, tomorrow: Projection) -> dict[str, Any]:
    """The record's form: `mixed` for after three turnovers, `next_morning` for 12 hours on, and what was believed."""
    seen = case.seen
    return {
        "format": FORMAT,
        "read_at": case.readings.at.isoformat(),
        "mixed": _of(last),
        "next_morning": _of(tomorrow),
        "next_morning_h": FORECAST_H,
        "volume_l": round(last.volume_l, 2),
        "assumed_solution_mmol_l": {
            name: round(getattr(case.solution, name), 5) for name in type(case.solution).__dataclass_fields__
        },
        "phosphate_mmol_l": _log_span(case, b.PHOSPHATE),
        "co2_atm": _log_span(case, b.PRESSURE),
        "belief": kept(case.answer, seen) if seen else None,
    }


def _of(projected: Projection) -> dict[str, Any]:
    after = projected.after()
    return {"ph": after.ph.to_json(3), "ec_ms_cm": after.ec_ms_cm.to_json(3), "volume_l": after.volume_l.to_json(1)}


def _log_span(case: Case, i: int) -> dict[str, float] | None:
    if case.state is None:
        return None
    mean, sd = case.state.mean[i], case.state.sd(i)
    return {
        "value": round(math.exp(mean), 7), "low": round(math.exp(mean - 1.645 * sd), 7),
        "high": round(math.exp(mean + 1.645 * sd), 7),
    }  # fmt: skip
