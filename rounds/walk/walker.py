"""Who is walking: named on the command line, else whom an opened bundle was made for, else the first grower."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rounds.errors import BadInput
from rounds.toml_bounds import loads, read_bounded
from rounds.walk.error_texts import in_words

if TYPE_CHECKING:
    from rounds.farm.farm import Farm
    from rounds.farm.model import Person
    from rounds.walk.session import Session

WALKING_FILE = "walking.toml"
"""Beside farm.toml in a folder that `rounds open` made; it goes into no bundle."""


def default_person(farm: Farm, folder: Path) -> Person | None:
    """Who walks where nobody is named: the first grower, but where a bundle was opened whom it was made for.

    Raises
    ------
    BadInput
        Where a bundle was opened, nobody can tell for whom, and the farm has no helper: nobody is taken for the
        grower by mistake.
    """
    growers, helpers = ([p for p in farm.people if p.role == role] for role in ("grower", "helper"))
    if not (folder / WALKING_FILE).exists():
        return next(iter([*growers, *helpers]), None)
    named = _named(folder / WALKING_FILE)
    found = [person for person in farm.people if person.id == named] or helpers
    if not found:
        raise in_words(BadInput, "nobody-walks", file=WALKING_FILE)
    return found[0]


def _named(path: Path) -> object:
    try:
        return loads(read_bounded(path).decode()).get("person")
    except (OSError, ValueError):
        return None


def walking_file(person_id: str) -> bytes:
    """The file that makes somebody walk where nobody is named."""
    text = "# Who walks this farm here where --as names nobody else.\nperson = "
    return f"{text}{json.dumps(person_id)}\n".encode()


def walking_line(session: Session) -> str:
    """Who walks, and what a helper may pour."""
    person = session.person
    if person is None:
        return "Walking: nobody is named. Add [[people]] to farm.toml."
    return f"Walking: {person.name} ({person.role}).{_may_pour(session) if session.is_helper else ''}"


def person_form(session: Session) -> dict[str, Any] | None:
    """Who walks, as the JSON answers have it."""
    person = session.person
    return None if person is None else {"id": person.id, "name": person.name, "role": person.role}


def _may_pour(session: Session) -> str:
    limits, shelf = session.farm.limits.helper, session.farm.shelf
    names = [shelf[each].name.partition(" (")[0] for each in limits.products if each in shelf]
    if not names:
        return " May pour: only water."
    return f" May pour: {', '.join(names)} up to {limits.step_ml:g} mL a step, {limits.day_ml:g} mL a day."
