"""Hens: what they lay, drink and eat each, and when a vet is the one to ask."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from rounds.farm.field_types import Count, Id
from rounds.farm.station_base import Answer, Answers, StationBase

LEAST_DAYS = 5
"""So many days are needed before anything is called usual. Common practice, no source. [d]"""
_WATCHED = {"water": "Water drunk", "feed": "Ration eaten"}


class Flock(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="hens"):
    """Hens in one house."""

    ANSWERS_DAYS = 14

    birds: Count
    ration: Id | None = None
    hatched_on: date | None = None

    def figures(self, answers: Answers) -> tuple[str, ...]:
        """Lay, water and ration for each hen and day, from what was read last."""
        from rounds.science.hens import feed_per_hen_g_d, hen_day_lay_percent, water_per_hen_ml_d

        if not self.birds:
            return ()
        eggs, water, feed = (_last_day(answers.get(item, ())) for item in ("eggs", "water", "feed"))
        told = (
            f"lay {hen_day_lay_percent(round(eggs), self.birds, 1):.0f} %" if eggs is not None else "",
            f"{water_per_hen_ml_d(water, self.birds, 1):.0f} mL water a hen" if water is not None else "",
            f"{feed_per_hen_g_d(feed, self.birds, 1):.0f} g ration a hen" if feed is not None else "",
        )
        return tuple(each for each in told if each)

    def findings(self, answers: Answers) -> tuple[str, ...]:
        """Water or ration that was far from the usual on the last two days, both times the same way."""
        told = (_far_from_usual(label, _single_days(answers.get(item, ()))) for item, label in _WATCHED.items())
        return tuple(each for each in told if each)


def _far_from_usual(label: str, days: Sequence[tuple[int, float]]) -> str:
    """The sentence for amounts whose last two days both lie a fifth off the median of those before; else nothing."""
    from statistics import median

    from rounds.science.hens import TROUBLE_SHARE, change_share

    if len(days) < LEAST_DAYS + 2 or days[-1][0] - days[-2][0] != 1:
        return ""
    usual = median(amount for _, amount in days[:-2])
    if usual <= 0.0:
        return ""
    one, other = (change_share(amount, usual) for _, amount in days[-2:])
    share, way = (min(one, other), "above") if one > 0.0 else (-max(one, other), "below")
    return f"{label}: {100.0 * share:.0f} % {way} the usual for two days: ask the vet" if share >= TROUBLE_SHARE else ""


def _last_day(answers: Sequence[Answer]) -> float | None:
    days = _single_days(answers)
    return days[-1][1] if days and days[-1][0] == answers[-1].at.toordinal() else None


def _single_days(answers: Sequence[Answer]) -> list[tuple[int, float]]:
    """Day and amount where it was read the day before too: it counts from then on, so after a gap it is of more."""
    by_day = {each.at.toordinal(): each.number for each in answers if each.number is not None}
    return [(day, amount) for day, amount in by_day.items() if day - 1 in by_day]
