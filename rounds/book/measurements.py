"""What was measured of the farm itself, and what was entered of a measurement that is under way."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from rounds.book.amounts import number
from rounds.book.entry import Entry

PUMP, TUB, PUMP_OFF, TITRATION, BUCKET = "pump", "tub", "pump-off", "titration", "bucket"
JAR_TEST = "jar"
"""What there is to measure: a pump's flow, a vessel's dip table, the water that runs back, a water's alkalinity, what
a nutrient feed does to the EC. A jar test is begun like them, and ends as a reading of the correction."""
OF_A_STATION = (PUMP, TUB, PUMP_OFF, JAR_TEST)
"""What is of a station; anything else names a water or a feed."""
_BEGUN = "measuring"


def item_of(what: str, subject: str, *, begun: bool = False) -> str:
    """The item of a record: `measured:pump`, `measured:titration:well`.

    Examples
    --------
    >>> item_of(PUMP, "reservoir-1"), item_of(TITRATION, "well", begun=True)
    ('measured:pump', 'measuring:titration:well')
    """
    return f"{_BEGUN if begun else 'measured'}:{what}" + ("" if what in OF_A_STATION else f":{subject}")


def station_of(what: str, subject: str) -> str:
    """The station of a record: its subject where that is one, else the farm as a whole."""
    return subject if what in OF_A_STATION else ""


class _OfMeasuring(Entry):
    """What both have."""

    __slots__ = ()

    @property
    def what(self) -> str:
        """What was measured: PUMP, TUB, PUMP_OFF, TITRATION or BUCKET."""
        return self.item.split(":")[1] if ":" in self.item else ""

    @property
    def subject(self) -> str:
        """Of what: id of a station, a water or a feed."""
        return self.station if self.what in OF_A_STATION else self.item.partition(":")[2].partition(":")[2]


class Measuring(_OfMeasuring, kind="measuring"):
    """A measurement that is under way: all that was entered so far. Each replaces the one before."""

    __slots__ = ()

    @property
    def answers(self) -> tuple[str, ...]:
        """What was typed, in its order."""
        return self._texts("answers")

    @property
    def answered_at(self) -> tuple[datetime, ...]:
        """When each of them was typed."""
        return tuple(datetime.fromisoformat(each) for each in self._texts("answered_at"))


class Measured(_OfMeasuring, kind="measured"):
    """A number of the farm that was measured."""

    __slots__ = ()

    @property
    def sd(self) -> float:
        """Its standard deviation. [its own unit]"""
        return number(self.record.data.get("sd")) or 0.0

    @property
    def how(self) -> str:
        """By what, such as `by jug and clock`."""
        return self._text("how") or ""

    @property
    def rows(self) -> tuple[tuple[float, ...], ...]:
        """The pairs that it was worked out from: of a tub, dips and litres; of a bucket, mL and the EC after."""
        found = self.record.data.get("rows")
        rows = found if isinstance(found, list | tuple) else ()
        numbers = [[number(each) for each in row] for row in rows if isinstance(row, list | tuple)]
        return tuple(tuple(v for v in row if v is not None) for row in numbers if None not in row)

    @property
    def litres(self) -> float | None:
        """Of a bucket, its water. [L]"""
        return number(self.record.data.get("litres"))

    @property
    def ec_ms_cm(self) -> float | None:
        """Of a bucket, what its water showed before anything was poured. [mS/cm]"""
        return number(self.record.data.get("ec_ms_cm"))

    @property
    def water(self) -> str:
        """Of a bucket, the id of its water."""
        return self._text("water") or ""

    @property
    def products(self) -> tuple[str, ...]:
        """Of a bucket, the ids of what was poured, one for each of its rows of mL and the EC after."""
        return self._texts("products")

    @property
    def parts(self) -> Mapping[str, tuple[float, float]]:
        """By product, what a millilitre in each litre raises the EC by, and its spread. [mS/cm per mL/L]"""
        found = {id: _rise(of) for id, of in self._table("parts").items()}
        return {id: rise for id, rise in found.items() if rise is not None}


def _rise(found: object) -> tuple[float, float] | None:
    per_ml_l = number(found.get("per_ml_l")) if isinstance(found, Mapping) else None
    return None if per_ml_l is None or not isinstance(found, Mapping) else (per_ml_l, number(found.get("sd")) or 0.0)
