"""Whether a farm can be walked at all: farm.toml can be read, and has a station."""

from __future__ import annotations

from collections.abc import Sequence

from rounds.errors import BadInput
from rounds.farm.farm import Farm, Mistake

_HINT = "Enter each station below a line [[stations]]; `rounds --sample` shows a farm that works."


def usable(farm: Farm) -> Farm:
    """The farm, if it can be walked. A farm whose stations were lost must not look like one with nothing due.

    Raises
    ------
    BadInput
        With what keeps farm.toml from being read, or because it has no station.
    """
    refused = refusal(farm)
    if refused is not None:
        raise refused
    return farm


def refusal(farm: Farm) -> BadInput | None:
    """Why a farm cannot be walked; None where it can."""
    told = [mistake for mistake in farm.mistakes if mistake.file == "farm.toml"]
    unreadable = next((mistake for mistake in told if mistake.unreadable), None)
    if unreadable is not None and not farm.as_of:
        return BadInput(str(unreadable), f"\n{unreadable.picture}" if unreadable.picture else "")
    return None if farm.stations or farm.left_out else _no_station(told)


def _no_station(told: Sequence[Mistake]) -> BadInput:
    return BadInput("farm.toml has no station.", f"The first mistake in it: {told[0]}" if told else _HINT)
