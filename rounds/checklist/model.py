"""What a checklist file says: the items of one kind of station, what is well, when each is due and what follows."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from msgspec import Meta, field

from rounds.farm.field_types import Band, Id, Line, Part, Text, check_band

RoundName = Literal["morning", "midday", "dusk"]
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
Loses = Literal["people", "animals", "30 minutes", "2 hours", "tonight", "tomorrow", "days"]
"""What would be lost, and roughly how soon: people and animals first, then a crop by the time it has."""
WORST_FIRST: tuple[Loses, ...] = ("people", "animals", "30 minutes", "2 hours", "tonight", "tomorrow", "days")
ItemType = Literal["reading", "yes_no", "choice", "count", "note"]
STATION = "station."
NamedBand = Annotated[
    str,
    Meta(
        pattern=r"^(stage\.(ph|ec)|station\.[a-z][a-z0-9_]*)$",
        description="[low, high], stage.ph, stage.ec, or station. and a band that the kind of station works out",
    ),
]
NamedCount = Annotated[
    str, Meta(pattern=r"^station\.[a-z][a-z0-9_]*$", description="station. and a whole number of farm.toml by its key")
]
Name = Annotated[
    str,
    Meta(
        pattern="^[a-z]{1,12}(-[0-9]{1,2})?$",
        description="a word of 1 to 12 lower-case letters, with a number behind a hyphen where there is one",
    ),
]
Month = Annotated[int, Meta(ge=1, le=12, description="a month from 1 to 12, as in the northern hemisphere")]
Days = Annotated[int, Meta(ge=0, le=3660, description="whole days, 0 or more")]
EveryDays = Annotated[int, Meta(ge=1, le=3660, description="whole days, 1 or more")]
Decimals = Annotated[int, Meta(ge=0, le=4, description="from 0 to 4")]
Jump = Annotated[float, Meta(gt=0, le=1_000_000, description="a number above 0")]
Most = Annotated[int, Meta(ge=0, le=1_000_000, description="a whole number, 0 or more")]


class Due(Part, frozen=True, kw_only=True):
    """One rule for when an item is due. All that it says must hold at once; an empty rule means every round."""

    every_days: EveryDays | None = None
    """So many days after it was last answered."""
    weekdays: tuple[Weekday, ...] = ()
    """On these days; missed on one, it stays due until it is answered."""
    months: tuple[Month, ...] = ()
    """Only in these months of the northern hemisphere; south of the equator six months later."""
    after: Id | None = None
    """Once after this event (such as `change-out`, `storm`, `planted`), or every so often from then on."""
    from_days: Days = 0
    """Not before so many days after the event."""
    until_days: Days | None = None
    """No longer from so many days after the event."""

    def __post_init__(self) -> None:
        if self.after is None and (self.from_days or self.until_days is not None):
            raise ValueError("after: expected the event that from_days and until_days count from, found nothing")
        if self.every_days is not None and self.weekdays:
            raise ValueError("every_days: expected either every_days or weekdays, found both")
        if self.until_days is not None and not self.from_days < self.until_days:
            raise ValueError(f"until_days: expected more than from_days ({self.from_days}), found {self.until_days}")


class Slow(Part, frozen=True, kw_only=True):
    """What a slow change of a reading means. Only the directions named here are reported; without this table, none."""

    falling: Text = ""
    """What to look at where it falls, week after week."""
    rising: Text = ""
    """What to look at where it rises."""
    figure: Literal["value", "drift", "drunk"] = "value"
    """What is followed: the reading itself, how far it goes by itself in a day, or what a dipped reservoir drinks."""
    least: Annotated[float, Meta(gt=0, le=1_000_000, description="a number above 0")] | None = None
    """The smallest change that matters, in the unit of the figure; without it a fifth of the band."""

    def __post_init__(self) -> None:
        if not self.falling and not self.rising:
            raise ValueError("slow: expected a text for falling or rising, found none of them")


class Item(Part, frozen=True, kw_only=True):
    """One thing that is read or looked at."""

    id: Id
    type: ItemType
    label: Line
    names: tuple[Name, ...] = ()
    """Words that may be typed for it on the quick line."""
    unit: str = ""
    """The usual unit, spelled as it is shown."""
    decimals: Decimals = 1
    limits: Band | None = None
    """A value outside these limits is refused."""
    jump: Jump | None = None
    """A reading further than this from the last one is asked about."""
    band: Band | NamedBand | None = None
    """Wanted range, or where it is found. A station's own band comes first."""
    choices: tuple[Line, ...] = ()
    well: bool | Most | tuple[str, ...] | NamedCount | None = None
    """The answer that is well: true or false; the choices that are; the largest count that is, or the exact one."""
    how: Text = ""
    why: Text = ""
    off: Text = ""
    """What to do when it is off."""
    seen: Line = ""
    """What was seen where a yes or no is off, such as "Wilting seen": the daybook tells it by this."""
    rounds: tuple[RoundName, ...] = ("morning",)
    due: tuple[Due, ...] = ()
    """Any of these rules makes it due; none: every round."""
    ask: Literal["always", "except", "rotate"] = "except"
    """Always asked by itself; only entered when it is off; or asked by itself when its turn comes."""
    loses: Loses = "days"
    """Who or what would be lost while it is off, and roughly how soon."""
    share: Literal["meter", "farm"] | None = None
    """Answered once a day for all stations of the kind."""
    follows: Id | None = None
    """Due only when this other item was off."""
    sick: tuple[str, ...] = ()
    """The choices that make the station a sick one, as long as they are not settled."""
    recovers: tuple[str, ...] = ()
    """The choices that tell that it is well again once it was off, seen on two days; none: one answer that is well."""
    watch: Literal["daily", "every round"] | None = None
    """How often it is asked by itself while the station is sick."""
    frost: bool = False
    """Whether it belongs to what is done before a night of frost."""
    quick: bool = False
    """Has a place in the station's order of bare numbers."""
    tells: Id | None = None
    """The event that an answer which is off tells of, such as `storm`."""
    slow: Slow | None = None
    """What it would mean if it changed slowly."""

    def __post_init__(self) -> None:
        check_band("limits", self.limits)
        if isinstance(self.band, tuple):
            check_band("band", self.band)
        if not self.rounds:
            raise ValueError("rounds: expected at least one of morning, midday, dusk, found none")
        _check_answers(self)

    @property
    def is_number(self) -> bool:
        """Whether a number answers it, so that it can be typed on the quick line."""
        return self.type in ("reading", "count")


def _check_answers(item: Item) -> None:
    if item.type == "reading" and (item.limits is None or not item.names):
        missing = "limits" if item.limits is None else "names"
        raise ValueError(f"{missing}: expected a value, as for every reading, found nothing")
    if item.type == "choice":
        _check_choices(item)
    else:
        _check_well(item)
    _check_ways_to_ask(item)


def _check_well(item: Item) -> None:
    well: Any = item.well
    match item.type:
        case "yes_no" if not isinstance(well, bool):
            raise ValueError(f"well: expected true or false, found {well}")
        case "count" if isinstance(well, bool | tuple) or well is None:
            raise ValueError(f"well: expected the largest count that is well, found {well}")
        case "reading" | "note" if well is not None:
            raise ValueError(f"well: expected nothing for a {item.type}, found {well}")


def _check_ways_to_ask(item: Item) -> None:
    if item.slow is not None and item.type != "reading":
        raise ValueError(f"slow: expected it only where something is measured, found a {item.type}")
    if (item.sick or item.recovers) and not {*item.sick, *item.recovers} <= {*item.choices}:
        raise ValueError(f"sick, recovers: expected one of {', '.join(item.choices)}, found another answer")
    if item.quick and not item.is_number:
        raise ValueError(f"quick: expected true only where a number answers it, found a {item.type}")
    if item.quick and not item.names:
        raise ValueError("names: expected a word, as for all that has a place in the bare numbers, found nothing")


def _check_choices(item: Item) -> None:
    if len(item.choices) < 2:
        raise ValueError(f"choices: expected at least two choices, found {len(item.choices)}")
    if not isinstance(item.well, tuple) or not item.well:
        raise ValueError(f"well: expected a list of the choices that are well, found {item.well}")
    for each in item.well:
        if each not in item.choices:
            raise ValueError(f"well: expected one of {', '.join(item.choices)}, found {each}")


class Checklist(Part, frozen=True, kw_only=True):
    """What is looked at in one kind of station."""

    format: Literal[1]
    kind: Id
    title: Line
    rank: int
    """Place in the walk, lower first: what spoils soonest comes early, and clean comes before dirty."""
    items: tuple[Item, ...] = field(default=())

    def item(self, item_id: str) -> Item | None:
        """The item of that id, if the checklist has it."""
        return next((item for item in self.items if item.id == item_id), None)

    @property
    def quick_order(self) -> tuple[Item, ...]:
        """The items of the bare-number order."""
        return tuple(item for item in self.items if item.quick)

    @property
    def number_items(self) -> tuple[Item, ...]:
        """All items that can be typed on the quick line."""
        return tuple(item for item in self.items if item.is_number and item.names)
