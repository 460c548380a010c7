"""The emergency card: whom to call, where the main switch is, and what is done first."""

from __future__ import annotations

from rounds.farm.farm import Farm
from rounds.relief.words import FIRST_OF_ALL, emergencies
from rounds.text import clean_line

FIRST_PLACES = ("isolators", "water", "eyewash", "first_aid")
"""What is looked for first, by its name in farm.toml."""
NO_NUMBERS = "No numbers are entered. Add [[contacts]] to farm.toml; the local emergency number comes first."


def numbers(farm: Farm) -> tuple[tuple[str, str], ...]:
    """Each number, and who it is for what."""
    return tuple((clean_line(each.phone), clean_line(f"{each.name}: {each.what}")) for each in farm.contacts)


def places(farm: Farm) -> tuple[str, ...]:
    """Where things are, the main switch first."""
    keys = sorted(farm.where, key=lambda key: FIRST_PLACES.index(key) if key in FIRST_PLACES else len(FIRST_PLACES))
    return tuple(f"{_NAMES.get(key, key.replace('_', ' '))}: {clean_line(farm.where[key])}" for key in keys)


def first_acts(farm: Farm) -> tuple[str, ...]:
    """What is done first, acid in an eye before all others."""
    found = sorted(emergencies(farm.where), key=lambda each: "eye" not in each[0])
    return tuple(f"{what}: {clean_line(do, 600)}" for what, do in found)


def card_lines(farm: Farm) -> tuple[str, ...]:
    """The whole card in lines."""
    called = [f"{phone}  {who}" for phone, who in numbers(farm)] or [NO_NUMBERS]
    return (FIRST_OF_ALL, *called, *places(farm), *first_acts(farm))


_NAMES = {"isolators": "MAIN SWITCH"}
