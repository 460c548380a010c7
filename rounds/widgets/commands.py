"""What can be done on the screen in front: each command with its key, its word, and how to do it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from textual.binding import ActiveBinding
from textual.screen import Screen

from rounds.walk.key_table import MEANINGS, name_of
from rounds.widgets.key_line import key_name, typed_commands

LEFT_OUT = ("Copy selected text", "Focus Next", "Focus Previous")
_TOLD = {meaning.command: meaning.told for meaning in MEANINGS.values()}
_LETTERS = {key: meaning.told for key, meaning in MEANINGS.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One thing that can be done here."""

    key: str
    """As it stands on the keyboard."""
    word: str
    told: str
    names: tuple[str, ...] = ()
    """What it is found by, beside its word."""
    active: ActiveBinding | None = None
    """What does it; None where its key is typed on the line."""


def commands_of(screen: Screen[Any]) -> list[Command]:
    """Every command of a screen that can be done now, in the order of its key line."""
    typed = [(key.removesuffix(" Enter"), word) for key, word in typed_commands(screen)]
    found = {word: _typed(key, word) for key, word in typed if len(key) == 1 and key.isalpha()}
    for active in screen.active_bindings.values():
        binding = active.binding
        if binding.description and active.enabled and binding.description not in LEFT_OUT and _is_here(active, screen):
            found.setdefault(binding.description, _bound(active))
    return list(found.values())


async def do(screen: Screen[Any], command: Command) -> None:
    """Do it, as if its key had been pressed."""
    if command.active is not None:
        await screen.app.run_action(command.active.binding.action, command.active.node)
        return
    take = getattr(screen, "take_typed", None)
    if callable(take):
        take(command.key)


def _typed(key: str, word: str) -> Command:
    return Command(key=key, word=word, told=_LETTERS.get(key, ""))


def _bound(active: ActiveBinding) -> Command:
    binding = active.binding
    command = (binding.id or "").partition(".")[2]
    key = binding.key_display or key_name(binding.key)
    return Command(
        key=name_of(key), word=binding.description, told=_TOLD.get(command, ""), names=(command,), active=active
    )


def _is_here(active: ActiveBinding, screen: Screen[Any]) -> bool:
    return active.node in (screen, screen.app) or active.binding.show
