"""What every kind of station has, and what a kind may say of itself and of its readings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import ClassVar, Literal

from msgspec import Struct, field

from rounds.farm.field_types import Band, Id, Line, Part, Text, check_band


class Answer(Struct, frozen=True):
    """One answer to one item of the checklist, as the record has it."""

    at: datetime
    """In the farm's own zone."""
    value: float | int | str | bool
    """A reading in the item's usual unit; a count; a choice; whether a check was answered with yes."""

    @property
    def number(self) -> float | None:
        """The value, where it is a number."""
        return None if isinstance(self.value, str | bool) else float(self.value)


Answers = Mapping[str, Sequence[Answer]]
"""The answers at one station by item, the oldest first. An item that was never answered is not in it."""


class StationBase(Part, frozen=True, kw_only=True):
    """What every station has. A kind of its own is a subclass in `rounds.farm.stations`."""

    ANSWERS_DAYS: ClassVar[int] = 0
    """How many days of answers `figures` and `findings` are given; 0 where the kind has neither. [d]"""
    NAMED_BANDS: ClassVar[tuple[str, ...]] = ()
    """The names that `named_band` knows."""
    REFERENCES: ClassVar[Mapping[str, Literal["waters", "reservoirs"]]] = {}
    """The keys of the kind that hold one id or several, and of what: one that leads nowhere is a mistake."""

    id: Id
    name: Line
    sick: bool = False
    """Walked last, so that nothing is carried to the healthy ones."""
    rank: int | None = None
    """Place in the walk, where the kind's own is not wanted: lower comes first."""
    leave_out: tuple[str, ...] = ()
    """Items of the kind's checklist that do not apply here."""
    bands: dict[str, Band] = field(default_factory=dict)
    """Bands of this station's own, by item."""
    note: Text = ""

    @property
    def kind(self) -> str:
        """The kind of station, which names its checklist."""
        return str(self.__struct_config__.tag)

    @property
    def about(self) -> str:
        """What one should know before looking, in one line; empty where there is nothing."""
        return ""

    def count_of(self, key: str) -> int | None:
        """The exact number that a checklist calls `station.KEY`: a whole number in farm.toml under that key."""
        value = getattr(self, key) if key in self.__struct_fields__ else None
        return value if isinstance(value, int) and not isinstance(value, bool) else None

    def day_of(self, event: str) -> date | None:
        """The day of an event that farm.toml dates: `planted` is dated by the key `planted_on`."""
        key = f"{event.replace('-', '_')}_on"
        value = getattr(self, key) if key in self.__struct_fields__ else None
        return value if isinstance(value, date) else None

    def named_band(self, name: str) -> Band | None:
        """The band that a checklist calls `station.NAME`; None where the kind has none of that name."""
        return None

    def figures(self, answers: Answers) -> tuple[str, ...]:
        """What the answers come to, in a few words each, such as `lay 82 %`. Shown under the station's name."""
        return ()

    def findings(self, answers: Answers) -> tuple[str, ...]:
        """What the answers mean together and no single one tells: a sentence each, the most pressing first."""
        return ()

    def __post_init__(self) -> None:
        for item, band in self.bands.items():
            check_band(f"bands.{item}", band)
