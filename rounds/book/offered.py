"""A correction as it was offered, read back from the record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rounds.book.actions import MEASURED
from rounds.book.amounts import number
from rounds.book.entry import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStep:
    """One step as it was offered and written down."""

    number: int
    action: str
    product: str | None
    amount: float
    unit: str
    wait_min: float
    text: str
    why: str
    cautions: tuple[str, ...]
    after: Mapping[str, Any]
    explain: tuple[str, ...]

    @property
    def is_measured(self) -> bool:
        """Whether an amount belongs to it."""
        return self.action in MEASURED


class Offer(Entry, kind="correction"):
    """A correction as it was offered."""

    __slots__ = ()

    @property
    def steps(self) -> tuple[Mapping[str, Any], ...]:
        """Its steps as they were written down."""
        return self._tables("steps")

    @property
    def planned(self) -> tuple[PlannedStep, ...]:
        """Its steps, numbered from 1."""
        return tuple(_planned(number, raw) for number, raw in enumerate(self.steps, 1))

    @property
    def prediction(self) -> Mapping[str, Any]:
        """What was foreseen."""
        return self._table("prediction")

    @property
    def assumed(self) -> Mapping[str, Any]:
        """What it was worked out from."""
        return self._table("assumed")

    @property
    def belief(self) -> Mapping[str, Any]:
        """What was believed of the reservoir then, as it is stored."""
        found = self.prediction.get("belief")
        return found if isinstance(found, Mapping) else {}

    @property
    def volume_l(self) -> float | None:
        """Circulating volume that was assumed. [L]"""
        return number(self.prediction.get("volume_l")) or number(self.assumed.get("volume_l"))

    @property
    def used(self) -> Mapping[str, Any] | None:
        """Ids of the readings that it was worked out from, by item; None where they were not kept."""
        found = self._table("input").get("records")
        return found if isinstance(found, Mapping) else None

    def foreseen(self, stage: str, name: str) -> tuple[float, float, float] | None:
        """Low, middle and high end of what was foreseen; None where nothing was.

        Parameters
        ----------
        stage : str
            "mixed" or "next_morning".
        name : str
            "ph" or "ec_ms_cm".
        """
        table = self.prediction.get(stage)
        span = table.get(name) if isinstance(table, Mapping) else None
        if not isinstance(span, Mapping):
            return None
        low, middle, high = (number(span.get(key)) for key in ("low", "value", "high"))
        if low is None or high is None:
            return None
        return low, (low + high) / 2.0 if middle is None else middle, high

    @property
    def findings(self) -> tuple[str, ...]:
        """What was said beside the steps."""
        return tuple(str(each.get("text", "")) for each in self._tables("findings"))

    @property
    def refusals(self) -> tuple[str, ...]:
        """What was refused, with what to do instead."""
        return tuple(f"{each.get('text', '')} {each.get('instead', '')}".strip() for each in self._tables("refusals"))

    @property
    def explain(self) -> tuple[str, ...]:
        """The working."""
        return self._texts("explain")

    @property
    def answer(self) -> str:
        """How the reservoir had answered until then."""
        return self._text("answer") or ""


def _planned(number_of: int, raw: Mapping[str, Any]) -> PlannedStep:
    return PlannedStep(
        number=number_of,
        action=str(raw.get("action", "look")),
        product=raw.get("product"),
        amount=float(raw.get("amount", 0.0)),
        unit=str(raw.get("unit", "")),
        wait_min=float(raw.get("wait_min", 0.0)),
        text=str(raw.get("text", "")),
        why=str(raw.get("why", "")),
        cautions=tuple(raw.get("cautions", ())),
        after=raw.get("after", {}),
        explain=tuple(raw.get("explain", ())),
    )
