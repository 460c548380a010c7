"""What a line means that was typed on the page of a correction: a command, an amount, a reading, or nothing clear."""

from __future__ import annotations

import re
from dataclasses import dataclass

from rounds.book.offered import PlannedStep
from rounds.checklist.check_words import words_for_checks
from rounds.errors import BadInput
from rounds.text import clean_line
from rounds.units import parse_number, parse_quantity
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.session import Session

COMMANDS = ("e", "p", "w", "y", "g")
TYPED_TO_CONFIRM = ("acid", "base")
"""Steps that only the amount confirms, typed as it was poured."""
_NUMBER = re.compile(r"[+-]?[0-9]")
_GLUED = re.compile(r"([^\W\d_]+)[=:]?[+-]?[0-9]?.*\Z", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Command:
    """A letter of the key line."""

    letter: str


@dataclass(frozen=True, slots=True)
class Poured:
    """What was really added at the step, in its unit."""

    amount: float


@dataclass(frozen=True, slots=True)
class BufferReading:
    """What the meter shows in buffer."""

    text: str


@dataclass(frozen=True, slots=True)
class ForStation:
    """A line that names a reading or a check of the reservoir: its station takes it."""

    text: str


@dataclass(frozen=True, slots=True)
class Unclear:
    """Nothing that could be taken, and what to type."""

    sentence: str


Meant = Command | Poured | BufferReading | ForStation | Unclear


def meant(session: Session, correction: OpenCorrection, text: str) -> Meant:
    """Say what a line means at the step that is next.

    Parameters
    ----------
    text : str
        As typed, not empty.
    """
    step = correction.next_step
    if text.casefold() in COMMANDS:
        return Command(text.casefold())
    problem = ""
    if _NUMBER.match(text):
        number = _number(session, step, text)
        if not isinstance(number, str):
            return number
        problem = number
    if names_something(session, correction.station_id, text):
        return ForStation(text)
    return Unclear(problem or f"“{clean_line(text, 40)}” means nothing here: nothing is written. {wanted(step)}")


def names_something(session: Session, station_id: str, text: str) -> bool:
    """Whether a reading or a check of the station is named anywhere on the line."""
    items = session.items(session.farm.station(station_id))
    known = {name for item in items for name in (item.id, *item.names)} | words_for_checks(items).keys()
    return any(name in known for word in text.split() for name in _names_in(word))


def wanted(step: PlannedStep | None) -> str:
    """What may be typed at a step."""
    reading = "or a reading by its name, such as ph 6.1"
    if step is None:
        return "Type a reading by its name, such as ph 6.1."
    if step.action == "buffer_dip":
        return f"Type what the meter shows, {reading}."
    if step.is_measured:
        return f"Type the amount in {step.unit}, {reading}."
    return f"Type a letter of the key line, {reading}."


def to_confirm(step: PlannedStep) -> str:
    """What must be typed where Enter alone does not confirm; empty where it does."""
    if step.action not in TYPED_TO_CONFIRM:
        return ""
    return f"Type the {step.unit} you poured, such as {step.amount:g}, then Enter"


def _number(session: Session, step: PlannedStep | None, text: str) -> Meant | str:
    """What a line that begins with a number means, or why it means nothing."""
    try:
        if step is not None and step.action == "buffer_dip":
            parse_number(text)
            return BufferReading(text)
        if step is not None and step.is_measured:
            return Poured(parse_quantity(text, usual=step.unit, gallon=session.farm.place.gallon))
    except BadInput as error:
        return f"{error} Nothing is written."
    return ""


def _names_in(word: str) -> list[str]:
    """A word as a name: as it stands, and the letters before a number that is glued to it."""
    lowered = word.casefold()
    glued = _GLUED.match(lowered)
    return [lowered, lowered.strip(".,:;="), *([glued.group(1)] if glued else [])]
