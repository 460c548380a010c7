"""A tub by jug: so many litres poured in, the dip, and again: its dip table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rounds.book.measurements import TUB
from rounds.errors import BadInput, OutOfRange, RoundsError
from rounds.farm.farm import Farm
from rounds.farm.vessel import Vessel
from rounds.farm.volumes import dip_to_litres
from rounds.science.repeated import JUG_SD
from rounds.walk.measuring.asking import Ask, Outcome, Way
from rounds.walk.measuring.error_texts import in_words
from rounds.walk.measuring.numbers import number_within
from rounds.walk.session import Session

JUG_L = 10.0
"""The usual jug, or a bucket with a mark. [L]"""
END = "end"
LEAST_ROWS = 3
Row = tuple[float, float]


def vessel_of(farm: Farm, vessel_id: str) -> Vessel:
    """The tub of that id.

    Raises
    ------
    NotFound
        Where there is no such station, or nothing is dipped there.
    """
    station = farm.station(vessel_id)
    if not isinstance(station, Vessel):
        raise in_words(BadInput, "no-tub", name=station.name)
    return station


def tub(session: Session, vessel_id: str) -> Way:
    """Ask for each pour and its dip, and make a dip table of them. Raises as `vessel_of`."""
    farm = session.farm
    vessel = vessel_of(farm, vessel_id)
    start_l = yield _start(vessel)
    jug_l = yield _jug()
    rows: list[Row] = [(0.0, 0.0) if start_l <= 0.0 else (yield _first_dip(start_l))]
    while (row := (yield _pour(vessel, rows, jug_l))) is not None:
        rows.append(row)
    top_cm, top_l = rows[-1]
    return Outcome(
        value=round(top_l, 2), sd=round(JUG_SD * top_l, 2), unit="L", how="by jug",
        lines=(f"{vessel.name}: {len(rows)} dips, to {top_cm:g} cm and {top_l:g} L.", *_beside(vessel, rows)),
        beside={"rows": [[cm, round(litres, 2)] for cm, litres in rows]},
    )  # fmt: skip


def _start(vessel: Vessel) -> Ask:
    return Ask(
        code="tub-start", text="How many litres stand in it now?",
        read=lambda text: number_within(text or "0", 0.0, vessel.full_volume_l, "A start", "L", usual="L"),
        told=lambda litres: f"{litres:g} L in it at the start" if litres else "empty at the start",
        lines=("Empty is best: pump off, drain shut, stick always at the same place.",),
        hint="Litres; Enter alone says that it is empty",
    )  # fmt: skip


def _jug() -> Ask:
    return Ask(
        code="tub-jug", text="How many litres are poured in at a time?",
        read=lambda text: JUG_L if not text else number_within(text, 0.1, 1000.0, "A jug", "L", usual="L"),
        told=lambda litres: f"{litres:g} L at a time", hint=f"Litres; Enter alone says {JUG_L:g}",
        lines=("A jug or bucket with a mark; weighed, a litre of water is a kilogram.",),
    )  # fmt: skip


def _first_dip(start_l: float) -> Ask:
    return Ask(
        code="tub-first", text="What does the stick show before anything is poured?",
        read=lambda text: (number_within(text, 0.0, 1000.0, "A dip", "cm", usual="cm"), start_l),
        told=lambda row: f"{row[0]:g} cm: {row[1]:g} L", hint="The dip in cm",
    )  # fmt: skip


def _pour(vessel: Vessel, rows: Sequence[Row], jug_l: float) -> Ask:
    before_cm, before_l = rows[-1]

    def read(text: str) -> Row | None:
        if text.casefold() == END:
            if len(rows) < LEAST_ROWS:
                raise in_words(BadInput, "tub-few", dips=len(rows))
            return None
        words = text.split()
        if len(words) not in (1, 2):
            raise in_words(BadInput, "tub-one-or-two", litres=jug_l)
        cm = number_within(words[0], 0.0, 1000.0, "A dip", "cm", usual="cm")
        litres = number_within(words[1], 0.1, 10_000.0, "A pour", "L", usual="L") if len(words) == 2 else jug_l
        if cm < before_cm:
            raise in_words(OutOfRange, "tub-dip", cm=cm, before=before_cm)
        if cm == before_cm:
            raise in_words(OutOfRange, "tub-same-dip", cm=cm, twice=2.0 * litres)
        return cm, before_l + litres

    return Ask(
        code="tub-pour", text=f"Pour in {jug_l:g} L, let it come to rest, dip. How many cm?", read=read,
        told=lambda row: "that is all" if row is None else f"{row[0]:g} cm: {row[1]:g} L",
        lines=(
            f"{before_l:g} L stand at {before_cm:g} cm; {vessel.full_volume_l:g} L are called full.",
            f"Other than {jug_l:g} L: the litres behind the dip, `{before_cm + 5:g} {2 * jug_l:g}`. "
            f"`{END}`, then Enter: that is all.",
        ),
        hint=f"The dip in cm, such as 12.5; {END}: that is all",
    )  # fmt: skip


def _beside(vessel: Vessel, rows: Sequence[Row]) -> tuple[str, ...]:
    """What the farm's files say at the middle dip, and how far up the table was not measured."""
    cm, litres = rows[len(rows) // 2]
    top = rows[-1][1]
    above = f"Above {top:g} L it goes on as it rose, up to the {vessel.full_volume_l:g} L of farm.toml."
    more = (above,) if top < vessel.full_volume_l else ()
    try:
        return (f"At {cm:g} cm: {litres:g} L, where it was {dip_to_litres(vessel, cm)[0]:.0f} L before.", *more)
    except RoundsError:
        return more


def for_the_file(farm: Farm, vessel_id: str) -> Mapping[str, Any]:
    """What of a tub's measurement belongs into farm.toml; nothing where it was not measured."""
    if (vessel_id, TUB) not in farm.measured:
        return {}
    vessel = vessel_of(farm, vessel_id)
    table = [[_tidy(cm), _tidy(litres)] for cm, litres in vessel.dip_table]
    return {"dip_table": table, "full_volume_l": _tidy(vessel.full_volume_l)}


def _tidy(number: float) -> float | int:
    rounded = round(number, 1)
    return int(rounded) if rounded == int(rounded) else rounded
