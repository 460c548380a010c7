"""The alkalinity of a water: a litre of it, and working acid to pH 4.5."""

from __future__ import annotations

from collections.abc import Sequence

from rounds.book.composition import agent_of, alkalinity_of
from rounds.errors import BadInput, RoundsError
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid
from rounds.science.acids_bases import Agent
from rounds.science.titration import (
    END_PH,
    END_RANGE,
    EQUIVALENTS,
    acid_needed_ml,
    alkalinity_titrated,
)  # fmt: skip
from rounds.walk.measuring.asking import Ask, Outcome, Way
from rounds.walk.measuring.choosing import which
from rounds.walk.measuring.error_texts import in_words
from rounds.walk.measuring.numbers import number_within, numbers_of
from rounds.walk.session import Session

BUFFER_PH, FURTHEST = 4.01, 0.3
"""The buffer in which the meter is tried, and how far off it may show it. [-]"""
_ENOUGH_PH = 4.7
"""From here on down a reading ends it. [-]"""
_LITRES = (0.1, 20.0)
_STRONG_MOL_L = 4.0
CAUTIONS = (
    "Goggles, and gloves that suit the acid. Acid into the water, never water into acid.",
    "Splashed: rinse skin or eyes for 15 minutes and get help. The sample goes down the drain, well diluted.",
)


def acids_for(farm: Farm) -> list[tuple[Acid, Agent]]:
    """The acids on the shelf by which something can be titrated, working acids first, the weakest of them first."""
    found = []
    for product in farm.shelf.values():
        if isinstance(product, Acid) and product.agent in EQUIVALENTS:
            try:
                found.append((product, agent_of(product)))
            except RoundsError:
                continue
    fit = [each for each in found if each[1].mol_per_l <= _STRONG_MOL_L]
    return sorted(fit, key=lambda each: (not each[0].working, each[1].mol_per_l))


def titration(session: Session, water_id: str) -> Way:
    """Ask what a titration needs, and work the alkalinity out.

    Raises
    ------
    NotFound, Refused
        Where there is no such water or no working acid, or the water is mixed of others.
    """
    farm = session.farm
    acids = acids_for(farm)
    if not acids:
        raise in_words(BadInput, "no-titrant")
    water, meter = farm.waters[water_id], farm.meter_for("ph")
    acid = (yield _which_acid(acids)) if len(acids) > 1 else acids[0][0]
    agent = {each.id: of for each, of in acids}[acid.id]
    shown = yield _buffer()
    expected_ml = acid_needed_ml(alkalinity_of(water), agent.mol_per_l, acid.agent, 1.0)
    litres = yield _sample(expected_ml)
    start = yield _start(shown - BUFFER_PH)
    poured: list[tuple[float, float]] = [(0.0, start)]
    while poured[-1][1] > _ENOUGH_PH:
        poured.append((yield _acid(acid, poured, litres, shown - BUFFER_PH, expected_ml * litres)))
    ml, ph = poured[-1]
    tolerance = meter.tolerance.get("ph", 0.1) if meter else 0.1
    found = alkalinity_titrated(ml, agent.mol_per_l, acid.agent, litres, ph, tolerance / 2.0)
    now = (
        f"{found.meq_l:.2f} meq/L, give or take {1.645 * found.sd_meq_l:.2f} ({50.04 * found.meq_l:.0f} mg/L as CaCO3)"
    )
    return Outcome(
        value=round(found.meq_l, 4), sd=round(found.sd_meq_l, 4), unit="meq/L", how="by titration",
        lines=(f"{water.name}: alkalinity {now}.", f"{ml:g} mL of {acid.name} took {litres:g} L to pH {ph:.2f}."),
        meter=meter.id if meter else None,
        beside={"rows": [[ml, round(ph, 3)] for ml, ph in poured], "product": acid.id},
    )  # fmt: skip


def _which_acid(acids: Sequence[tuple[Acid, Agent]]) -> Ask:
    strength = {acid.id: agent.mol_per_l for acid, agent in acids}
    there = [acid for acid, _ in acids]
    return which("acid", "Which acid is poured?", there, lambda acid: f"{acid.name} ({strength[acid.id]:.2f} mol/L)")


def _buffer() -> Ask:
    def read(text: str) -> float:
        shown = number_within(text, 0.0, 14.0, "A pH", "")
        if abs(shown - BUFFER_PH) > FURTHEST:
            raise in_words(BadInput, "titration-buffer", shown=shown, off=FURTHEST)
        return shown

    return Ask(
        code="buffer", text="Rinse the probe, dip it into buffer 4.01. What does it show?", read=read,
        told=lambda shown: f"buffer 4.01 shows {shown:g}: {BUFFER_PH - shown:+.2f} on every pH",
        hint="The pH it shows, such as 4.03",
        lines=("The end of a titration lies at 4.5: the meter must be right down there.",),
    )  # fmt: skip


def _sample(per_litre_ml: float) -> Ask:
    few = per_litre_ml < 1.0
    more = f" For so soft a water take {5 if per_litre_ml > 0.2 else 10} L: {per_litre_ml:.1g} mL is hard to read."
    return Ask(
        code="litres", text="How many litres of the water are measured out?",
        read=lambda text: 1.0 if not text else number_within(text, *_LITRES, "A sample", "L", usual="L"),
        told=lambda litres: f"{litres:g} L of water",
        lines=(f"A litre, measured with a jug or a kitchen scale (1 kg).{more if few else ''}",),
        hint="Litres; Enter alone says 1",
    )  # fmt: skip


def _start(off: float) -> Ask:
    def read(text: str) -> float:
        ph = number_within(text, 0.0, 14.0, "A pH", "") - off
        if ph <= _ENOUGH_PH:
            raise in_words(BadInput, "titration-no-alkalinity", ph=ph)
        return ph

    return Ask(
        code="start", text="What pH does the water show before anything is poured?", read=read,
        told=lambda ph: f"begins at pH {ph:.2f}", hint="The pH it shows, such as 7.4",
    )  # fmt: skip


def _acid(acid: Acid, poured: Sequence[tuple[float, float]], litres: float, off: float, expected_ml: float) -> Ask:
    before_ml, before_ph = poured[-1]

    def read(text: str) -> tuple[float, float]:
        numbers = numbers_of(text)
        if len(numbers) != 2:
            raise in_words(BadInput, "titration-two-numbers")
        ml, ph = numbers[0], numbers[1] - off
        if ml < before_ml or not 0.0 < ml <= 100.0 * litres:
            raise in_words(BadInput, "titration-below-its-start", ml=ml, before=before_ml, most=100.0 * litres)
        if ph > before_ph + 0.15 or not 0.0 <= numbers[1] <= 14.0:
            raise in_words(BadInput, "titration-ph-rises", ph=numbers[1], before=before_ph + off)
        if ph < END_RANGE[0]:
            raise in_words(BadInput, "titration-too-far", ph=ph, least=END_RANGE[0])
        return ml, ph

    began = len(poured) == 1
    first = (
        f"{acid.name}, from a syringe into the water; stir gently. By the farm's files it takes {expected_ml:.2g} mL."
    )
    step = max(expected_ml / (8.0 if before_ph > 5.6 else 30.0), 0.02)
    then = f"So far {before_ml:g} mL: pH {before_ph:.2f}. Now some {step:.1g} mL at a time, down to {END_PH:g}."
    return Ask(
        code="poured", text="Pour, stir, wait half a minute. How many mL in all, and which pH?", read=read,
        told=lambda row: f"{row[0]:g} mL in all: pH {row[1]:.2f}",
        lines=(first if began else then,),
        cautions=CAUTIONS if began else CAUTIONS[:1], hint="mL in all and pH, such as: 2.5 5.8",
    )  # fmt: skip
