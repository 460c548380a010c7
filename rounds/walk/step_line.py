"""What a line means that was typed on the page of a correction: a command, an amount, a reading, or nothing clear."""

from __future__ import annotations

import re
from dataclasses import dataclass

from rounds.book.actions import ASKED, FED
from rounds.book.offer import Step
from rounds.checklist.check_words import words_for_checks
from rounds.errors import BadInput
from rounds.text import clean_line
from rounds.units import parse_quantity
from rounds.walk.asked_first import ITEMS, shown_ph
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.session import Session

COMMANDS = ("e", "p", "w", "y", "g", "s")
TYPED_TO_CONFIRM = ("acid", "base")
"""Steps that only the amount confirms, typed as it was poured."""
_POURED = "poured"
_DONE_BY = {"topped": "top_up", "drained": "drain_off", "refilled": "change_out"}
_OF_A_BOTTLE = FED | {"acid", "base"}
_UNITS = ("l", "ml", "litres", "litre")
_NUMBER = re.compile(r"[+-]?[0-9]")
_GLUED = re.compile(r"([^\W\d_]+)[=:]?[+-]?[0-9]?.*\Z", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Command:
    """A letter of the key line."""

    letter: str


@dataclass(frozen=True, slots=True)
class Poured:
    """What was really added at the step, in its unit; of the bottle itself where a thinned one was poured."""

    amount: float


@dataclass(frozen=True, slots=True)
class Shown:
    """The pH that the step asks for: in buffer, in a jar, on a strip."""

    text: str


@dataclass(frozen=True, slots=True)
class ForStation:
    """A line that names a reading or a check of the reservoir: its station takes it."""

    text: str


@dataclass(frozen=True, slots=True)
class Unclear:
    """Nothing that could be taken, and what to type."""

    sentence: str


Meant = Command | Poured | Shown | ForStation | Unclear


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
    number_of = _without_its_name(step, text)
    if _NUMBER.match(number_of):
        number = _number(session, step, number_of)
        if not isinstance(number, str):
            return number
        problem = number
    if names_something(session, correction.station_id, text):
        return ForStation(text)
    return Unclear(problem or f"“{clean_line(text, 40)}” means nothing here: nothing is written. {wanted(step)}")


def amount_of(step: Step | None, text: str) -> str:
    """The amount alone, of a line such as `poured 30 ml` at a step that is just that; any other line as it is.

    Examples
    --------
    >>> amount_of(Step(number=1, action="acid", amount=30.0, unit="mL"), "poured 30 ml"), amount_of(None, "poured 30")
    ('30 ml', 'poured 30')
    """
    verb, *rest = text.split() or [""]
    if step is None or not step.is_measured or not rest or len(rest) > 2 or not _NUMBER.match(rest[0]):
        return text
    is_of_step = step.action == _DONE_BY.get(verb.casefold()) or (
        verb.casefold() == _POURED and step.action in _OF_A_BOTTLE
    )
    is_unit = len(rest) == 1 or rest[1].casefold() in _UNITS
    return " ".join(rest) if is_of_step and is_unit else text


def names_something(session: Session, station_id: str, text: str) -> bool:
    """Whether a reading or a check of the station is named anywhere on the line."""
    items = session.items(session.farm.station(station_id))
    known = {name for item in items for name in (item.id, *item.names)} | words_for_checks(items).keys()
    return any(name in known for word in text.split() for name in _names_in(word))


def wanted(step: Step | None) -> str:
    """What may be typed at a step."""
    reading = "or a reading by its name, such as ph 6.1"
    if step is None:
        return "Type a reading by its name, such as ph 6.1."
    if step.action == "buffer_dip":
        return f"Type what the meter shows, {reading}."
    if step.action in ASKED:
        return f"Type the pH it shows, s to skip it, {reading}."
    if step.is_measured:
        return f"Type the amount in {step.unit}, {reading}."
    return f"Type a letter of the key line, {reading}."


def to_confirm(step: Step) -> str:
    """What must be typed where Enter alone does not confirm; empty where it does."""
    if step.action not in TYPED_TO_CONFIRM:
        return ""
    of_thinned = " of the thinned bottle" if step.thinned > 1.0 else ""
    return f"Type the {step.unit}{of_thinned} you poured, such as {step.amount * step.thinned:g}, then Enter"


def _number(session: Session, step: Step | None, text: str) -> Meant | str:
    """What a line that begins with a number means, or why it means nothing."""
    try:
        if step is not None and step.action in ITEMS:
            shown_ph(text)
            return Shown(text)
        if step is not None and step.is_measured:
            typed = parse_quantity(text, usual=step.unit, gallon=session.farm.place.gallon)
            return Poured(typed / step.thinned)
    except BadInput as error:
        return f"{error} Nothing is written."
    return ""


def _without_its_name(step: Step | None, text: str) -> str:
    """A line that answers what the step asks by its name, such as `jar 5.8`, without that name."""
    name = ITEMS.get(step.action, "") if step is not None else ""
    words = text.split()
    return words[1] if name and len(words) == 2 and words[0].casefold() == name else text


def _names_in(word: str) -> list[str]:
    """A word as a name: as it stands, and the letters before a number that is glued to it."""
    lowered = word.casefold()
    glued = _GLUED.match(lowered)
    return [lowered, lowered.strip(".,:;="), *([glued.group(1)] if glued else [])]
