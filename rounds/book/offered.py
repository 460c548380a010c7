"""A correction as it was offered, read back from the record."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from rounds.book.amounts import number
from rounds.book.entry import Entry
from rounds.book.offer import After, Assumed, Step


class FaultsKept(msgspec.Struct, frozen=True, kw_only=True):
    """What a correction believed of the faults that a bottle and its meter may have."""

    made: str
    """When the batch was made; empty where nobody said."""
    rests_on: tuple[str, ...] = ()
    """Ids of the jars, strips and dips that it rests on."""
    weights: Mapping[str, float]
    """By the code of the fault, 0-1. [-]"""


class Offer(Entry, kind="correction"):
    """A correction as it was offered."""

    __slots__ = ()

    @property
    def steps(self) -> tuple[Step, ...]:
        """Its steps, numbered from 1."""
        return tuple(_step(place, raw) for place, raw in enumerate(self._tables("steps"), 1))

    @property
    def prediction(self) -> Mapping[str, Any]:
        """What was foreseen."""
        return self._table("prediction")

    @property
    def assumed(self) -> Assumed:
        """What it was worked out from."""
        raw = self._table("assumed")
        return Assumed(**{name: number(raw.get(name)) for name in Assumed.__struct_fields__})

    @property
    def belief(self) -> Mapping[str, Any]:
        """What was believed of the reservoir then, as it is stored."""
        found = self.prediction.get("belief")
        return found if isinstance(found, Mapping) else {}

    @property
    def faults(self) -> dict[str, FaultsKept]:
        """What was believed of the faults of each bottle then, by its id."""
        found = self.prediction.get("faults")
        if not isinstance(found, Mapping):
            return {}
        return {item: _faults(table) for item, table in found.items() if isinstance(table, Mapping)}

    @property
    def volume_l(self) -> float | None:
        """Circulating volume that was assumed. [L]"""
        return number(self.prediction.get("volume_l")) or self.assumed.volume_l

    @property
    def used(self) -> Mapping[str, Any] | None:
        """Ids of the readings that it was worked out from, by item; None where they were not kept."""
        found = self._table("input").get("records")
        return found if isinstance(found, Mapping) else None

    @property
    def answers(self) -> Mapping[str, Any] | None:
        """Ids of the answers beside the readings that it hangs on, by item; None where they were not kept."""
        found = self._table("input").get("answers")
        return found if isinstance(found, Mapping) else None

    @property
    def asked(self) -> dict[str, float]:
        """What was shown in a jar, by a strip, in the buffer of 4.01, by item: those that belong to its readings."""
        found = self._table("input").get("asked")
        shown = {str(item): number(value) for item, value in found.items()} if isinstance(found, Mapping) else {}
        return {item: value for item, value in shown.items() if value is not None}

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
    def refusal_codes(self) -> tuple[str, ...]:
        """Codes of what was refused."""
        return tuple(code for each in self._tables("refusals") if isinstance(code := each.get("code"), str))

    @property
    def explain(self) -> tuple[str, ...]:
        """The working."""
        return self._texts("explain")

    @property
    def answer(self) -> str:
        """How the reservoir had answered until then."""
        return self._text("answer") or ""


def _faults(table: Mapping[str, Any]) -> FaultsKept:
    weights = table.get("weights")
    found = {str(code): number(value) for code, value in weights.items()} if isinstance(weights, Mapping) else {}
    sound = {code: value for code, value in found.items() if value is not None and 0.0 <= value <= 1.0}
    rests_on = table.get("rests_on")
    ids = tuple(str(each) for each in rests_on) if isinstance(rests_on, list | tuple) else ()
    return FaultsKept(made=str(table.get("made", "")), weights=sound, rests_on=ids)


def _step(place: int, raw: Mapping[str, Any]) -> Step:
    """A step in the words it was offered in: they are not made anew, even if other words are used for it by now."""
    read = {**raw, "number": place, "after": _after(raw.get("after")), "says": None, "because": None}
    return msgspec.convert(read, Step)


def _after(raw: Any) -> After | None:
    try:
        return msgspec.convert(raw, After)
    except msgspec.ValidationError:
        return None
