"""The table of verbs: which there are, where each makes sense, and what a line that begins with one means."""

from __future__ import annotations

from collections.abc import Mapping

from rounds.walk.doings.animals import ANIMALS
from rounds.walk.doings.model import Verb
from rounds.walk.doings.water import WATER

VERBS: tuple[Verb, ...] = (*WATER, *ANIMALS)
BY_WORD: Mapping[str, Verb] = {word: verb for verb in VERBS for word in (verb.word, *verb.also)}


def help_lines() -> tuple[str, ...]:
    """The verbs that stand in the help, each with its example; the rest is understood as well."""
    return tuple(f"{verb.example:<22} {verb.does}" for verb in VERBS if verb.in_help)
