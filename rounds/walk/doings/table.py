"""The table of verbs: which there are, where each makes sense, and what a line that begins with one means."""

from __future__ import annotations

from collections.abc import Mapping

from rounds.walk.doings.animals import ANIMALS
from rounds.walk.doings.care import CARE
from rounds.walk.doings.model import Verb
from rounds.walk.doings.passing import PASSING
from rounds.walk.doings.plants import PLANTS_VERBS
from rounds.walk.doings.pouring import POURING
from rounds.walk.doings.probes import PROBES
from rounds.walk.doings.refilling import REFILLING
from rounds.walk.doings.shelf import SHELF
from rounds.walk.doings.water import WATER
from rounds.walk.doings.weather import WEATHER
from rounds.walk.to_sort.verbs import SETTLING

VERBS: tuple[Verb, ...] = (
    *WATER,
    *POURING,
    *REFILLING,
    *ANIMALS,
    *PLANTS_VERBS,
    *CARE,
    *SHELF,
    *PROBES,
    *WEATHER,
    *PASSING,
    *SETTLING,
)
BY_WORD: Mapping[str, Verb] = {word: verb for verb in VERBS for word in (verb.word, *verb.also)}


def help_lines() -> tuple[str, ...]:
    """The verbs that stand in the help, each with its example; the rest is understood as well."""
    return tuple(f"{verb.example:<22} {verb.does}" for verb in VERBS if verb.in_help)
