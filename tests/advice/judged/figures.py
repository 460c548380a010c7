"""The figures that a judgement consists of, and the table they are printed in."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from tests.advice.judged.contact import Contact
from tests.advice.judged.life import Life
from tests.advice.judged.stories import HEALTHY, STORIES

DEADLY, HARMFUL = 4.0, 4.5
Figures = dict[str, Any]
_STORY_HEAD = (
    f"{'story':14}{'n':>5}{'poured':>8}{'< 4.5':>7}{'< 4.0':>7}{'12h < 4.5':>11}{'lowest':>8}{'seed':>9}{'in band':>9}"
)


def at_percent(values: Iterable[float], percent: float) -> float:
    """The least value that so many per cent do not exceed; not a number where there are none.

    Examples
    --------
    >>> at_percent([3, 1, 2, 4], 50), at_percent([3, 1, 2, 4], 95), at_percent([5], 99)
    (2, 4, 5)
    """
    ordered = sorted(values)
    return ordered[max(0, math.ceil(percent / 100.0 * len(ordered)) - 1)] if ordered else math.nan


def percent_of(held: Iterable[bool], *, of: float = 100.0) -> float | None:
    """So many of a hundred; None of nothing."""
    found = list(held)
    return round(of * sum(found) / len(found), 2) if found else None


def judged(contacts: Sequence[Contact], lives: Sequence[Life]) -> Figures:
    """All figures of a run, by part."""
    healthy = [c for c in contacts if c.story == HEALTHY]
    stories = {name: [c for c in contacts if c.story == name] for name in STORIES}
    return {
        "first_contact": _first_contact(healthy) if healthy else None,
        "stories": {name: _story(found) for name, found in stories.items() if found},
        "daily_life": _daily_life(lives) if lives else None,
    }


def _first_contact(runs: Sequence[Contact]) -> Figures:
    called = [c for c in runs if c.called_in_band]
    return {
        "reservoirs": len(runs),
        "rechecks": _spread([c.rechecks for c in runs], (50, 95, 99)),
        "rechecks_of_acid_or_base": _spread([c.ph_rechecks for c in runs], (50, 95, 99)),
        "jar_tests": _spread([c.jars for c in runs], (50, 95, 99)),
        "in_band_first_day_percent": percent_of(c.in_band for c in runs),
        "called_in_band_percent": percent_of(c.called_in_band for c in runs),
        "minutes": _spread([round(c.minutes) for c in called], (50, 95)),
        "past_far_edge_per_1000": _past(runs, lambda c: c.past_edge),
        "past_far_edge_within_12h_per_1000": _past(runs, lambda c: c.past_edge_12h),
        "called_in_band_though_out_percent": percent_of(c.out_of_band > 0.0 for c in called),
        "called_in_band_though_out_by_0_1_percent": percent_of(c.out_of_band > 0.1 for c in called),
        "recheck_within_interval_percent": percent_of(seen.held for c in runs for seen in c.seen),
        "twelve_hours_within_interval_percent": percent_of(c.next.held for c in runs if c.next is not None),
        "asked_about_meter_or_bottle_without_end_percent": percent_of(c.without_end for c in runs),
        "ended": dict(Counter(c.ended for c in runs).most_common()),
        "lowest_ph": round(min(c.lowest_ph for c in runs), 2),
        "lowest_seed": min(runs, key=lambda c: c.lowest_ph).seed,
    }


def _past(runs: Sequence[Contact], how_far: Callable[[Contact], float]) -> Figures:
    return {
        name: percent_of((how_far(c) > by for c in runs), of=1000.0)
        for name, by in (("any", 0.0), ("over_0_1", 0.1), ("over_0_3", 0.3))
    }


def _spread(values: Sequence[float], percents: Sequence[int]) -> Figures:
    return {("median" if p == 50 else f"p{p}"): at_percent(values, p) if values else None for p in percents}


def _story(runs: Sequence[Contact]) -> Figures:
    lowest = min(runs, key=lambda c: c.lowest_ph)
    return {
        "reservoirs": len(runs),
        "poured_acid_or_base": sum(c.poured for c in runs),
        "below_4_5": sum(c.lowest_ph < HARMFUL for c in runs),
        "below_4_0": sum(c.lowest_ph < DEADLY for c in runs),
        "below_4_5_within_12h": sum(c.lowest_ph_12h < HARMFUL for c in runs),
        "lowest_ph": round(lowest.lowest_ph, 2),
        "lowest_seed": lowest.seed,
        "highest_ph": round(max(c.highest_ph for c in runs), 2),
        "in_band_percent": percent_of(c.in_band for c in runs),
        "called_in_band_though_out_by_0_1": sum(c.called_in_band and c.out_of_band > 0.1 for c in runs),
        "ended": dict(Counter(c.ended for c in runs).most_common()),
    }


def _daily_life(lives: Sequence[Life]) -> Figures:
    tool, oracle = ([n for life in lives for n in getattr(life, name)] for name in ("rechecks", "oracle"))
    return {
        "reservoirs": len(lives),
        "mornings": len(tool),
        "rechecks": _spread(tool, (50, 95)) | {"mean": round(sum(tool) / len(tool), 2)},
        "oracle": _spread(oracle, (50, 95)) | {"mean": round(sum(oracle) / len(oracle), 2)},
        "left_out_of_band_percent": percent_of(out > 0.0 for life in lives for out in life.out_of_band),
        "lowest_ph": round(min(life.lowest_ph for life in lives), 2),
        "ended": dict(Counter(end for life in lives for end in life.ended).most_common(6)),
    }


def table(figures: Figures) -> str:
    """The figures for people, in three parts."""
    lines: list[str] = []
    if figures["first_contact"]:
        lines += ["first contact, healthy", *_rows(figures["first_contact"])]
    if figures["stories"]:
        lines += ["", _STORY_HEAD]
        lines += [_story_row(name, each) for name, each in figures["stories"].items()]
    if figures["daily_life"]:
        lines += ["", "daily life after a week", *_rows(figures["daily_life"])]
    return "\n".join(lines)


def _story_row(name: str, each: Figures) -> str:
    return (
        f"{name:14}{each['reservoirs']:5}{each['poured_acid_or_base']:8}{each['below_4_5']:7}{each['below_4_0']:7}"
        f"{each['below_4_5_within_12h']:11}{each['lowest_ph']:8.2f}{each['lowest_seed']:9}{each['in_band_percent']:8.0f}%"
    )


def _rows(part: Figures) -> list[str]:
    return [f"  {name.replace('_', ' '):50} {_shown(value)}" for name, value in part.items()]


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{name.replace('_', ' ')} {_shown(each)}" for name, each in value.items())
    return "-" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
