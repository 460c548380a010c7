"""What is chosen from a sheet on any page: a station to go to, a command of the page by its name."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from textual.screen import Screen

from rounds.screens.sheet import Chosen, Row, SheetScreen
from rounds.walk.dialogue import ToStation
from rounds.walk.finding import stations_like
from rounds.walk.session import Session
from rounds.widgets.commands import Command, commands_of, do


def find_station(
    screen: Screen[Any], session: Session, then: Callable[[ToStation], object], *, round_name: str | None = None
) -> None:
    """Look for a station by a part of its name; hand on the way there."""
    stations = session.farm.stations

    def rows(text: str) -> list[Row]:
        return [Row(each, stations[each].name) for each in stations_like(session, text)]

    def chosen(found: Chosen | None) -> None:
        if found is not None:
            then(ToStation(found.id, round_name=round_name))

    sheet = SheetScreen("Find a station", "Type a part of its name; Enter goes there, Esc goes back.", rows)
    screen.app.push_screen(sheet, chosen)


def choose_command(screen: Screen[Any]) -> None:
    """Offer every command of a page by its name; where the page has a line for a station, take one for it."""
    commands = {str(number): command for number, command in enumerate(commands_of(screen))}
    line_for = getattr(screen, "line_for", "")
    hint = "Type a part of a name; Enter does it, Esc goes back."
    if line_for:
        hint = f"Type a command, or a line for {line_for}, such as ph 6.1. Esc goes back."

    def chosen(found: Chosen | None) -> None:
        if found is not None and found.id:
            screen.call_later(do, screen, commands[found.id])
        elif found is not None:
            screen.take_line(found.line)  # type: ignore[attr-defined]

    sheet = SheetScreen("Commands", hint, partial(_fitting, commands), takes_lines=bool(line_for))
    screen.app.push_screen(sheet, chosen)


def _fitting(commands: dict[str, Command], text: str) -> Sequence[Row]:
    """The commands that are called so; those whose name begins so first."""
    part = text.casefold()
    fit = {n: each for n, each in commands.items() if any(part in name for name in _names(each))}
    order = sorted(fit, key=lambda n: not any(name.startswith(part) for name in _names(fit[n])))
    return [Row(n, f"{fit[n].key:<6} {fit[n].word:<18} {fit[n].told}".rstrip()) for n in order]


def _names(command: Command) -> list[str]:
    return [command.word.casefold(), *(name.replace("-", " ") for name in command.names)]
