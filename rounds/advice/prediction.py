"""What a correction foresees, in the form its record keeps: the recheck and the next morning are held against it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import msgspec

from rounds.advice.case import Case
from rounds.advice.dosing_ph import FORECAST_H
from rounds.advice.faults_kept import made_of
from rounds.advice.projection import Projection
from rounds.belief import state as b
from rounds.belief.bank import Bank, weights_of
from rounds.belief.memory import kept
from rounds.book.offer import FORMAT


def foreseen(case: Case, last: Projection, tomorrow: Projection, banks: Mapping[str, Bank]) -> dict[str, Any]:
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
        "faults": {
            item: {"made": made_of(case, item), "weights": weights_of(bank), "rests_on": list(bank.rests_on)}
            for item, bank in banks.items()
        },
    }


def _of(projected: Projection) -> dict[str, Any]:
    after: dict[str, Any] = msgspec.to_builtins(projected.after().rounded(ph_decimals=3))
    return {name: after[name] for name in ("ph", "ec_ms_cm", "volume_l")}


def _log_span(case: Case, i: int) -> dict[str, float] | None:
    if case.state is None:
        return None
    mean, sd = case.state.mean[i], case.state.sd(i)
    return {
        "value": round(math.exp(mean), 7), "low": round(math.exp(mean - 1.645 * sd), 7),
        "high": round(math.exp(mean + 1.645 * sd), 7),
    }  # fmt: skip
