"""What a make of reservoir is to the judge: files that the tool is told, senses, hands, answers; and the truth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal, Protocol

Where = Literal["return", "instead"]
"""Into what is there, or instead of all that is there: a change-out."""
Given = float | bool | str
"""What a grower says: a number read, a yes or no, a word."""


@dataclass(frozen=True, kw_only=True)
class Question:
    """Something that the tool asks the grower."""

    code: str
    text: str = ""
    answers: tuple[str, ...] = ()
    """The words to choose from, where it is a choice."""
    details: Mapping[str, Any] = field(default_factory=dict)
    """What else belongs to it: the buffer, the planned dose per litre."""


@dataclass(frozen=True, kw_only=True)
class Line:
    """A line of the record, with what a record has."""

    kind: str
    measured_at: datetime
    id: str
    station: str = ""
    item: str = ""
    value: float | int | str | bool | None = None
    unit: str | None = None
    meter: str | None = None
    note: str | None = None
    person: str = ""
    marks: tuple[str, ...] = ()
    data: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What is really there; for the judge alone."""

    ph: float
    ec_ms_cm: float
    lowest_ph: float
    """Since the make was built, of what circulates."""
    highest_ph: float


class Make(Protocol):
    """A reservoir that is really there, built from a seed and a story."""

    seed: int
    story: str
    reservoir_id: str
    band: tuple[float, float]
    """The pH that is wanted."""
    pump_l_min: float
    """As the files say."""

    def __init__(self, seed: int, story: str) -> None: ...

    @property
    def now(self) -> datetime:
        """The make's own clock."""
        ...

    def farm_files(self) -> Mapping[str, str]:
        """farm.toml, feeds.toml and shelf.toml as the grower wrote them, by name."""
        ...

    def record(self) -> Sequence[Line]:
        """What stood in the record before the first visit, oldest first."""
        ...

    def read(self, what: str) -> float:
        """What an instrument shows now: ph, ec, t or dip. [-, mS/cm, degC, cm]"""
        ...

    def pour(self, product: str, litres: float, where: Where) -> None:
        """What the grower measures out as so many litres of a product or a water. [L]"""
        ...

    def drain(self, litres: float) -> None:
        """What the grower lets run off. [L]"""
        ...

    def wait(self, minutes: float) -> None:
        """Time goes on. [min]"""
        ...

    def answer(self, question: Question) -> Given | None:
        """What a truthful grower says; None where it cannot be told."""
        ...

    def truth(self) -> Truth:
        """What is really there."""
        ...

    def oracle_morning(self) -> bool:
        """Put right by one who knows the truth, in one go, for a day; whether anything was poured."""
        ...
