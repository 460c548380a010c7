"""A tank of top-up water for days away, with acid and feed already in it: the helper only tops up to a mark."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from rounds.advice import cautions as c
from rounds.book.composition import KnownFeed, KnownWater, feed_known, unknown_feed, water_known
from rounds.book.measures import litres_near, millilitres_down
from rounds.book.stock import millilitres_left
from rounds.errors import NotFound, OutOfRange, Refused
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Product
from rounds.farm.stations import Reservoir
from rounds.mixing.acid import acid_for, why_not_dosed
from rounds.mixing.drinking import MOST_L_DAY, Drinking
from rounds.mixing.sheet import MixSheet, MixStep, days_text
from rounds.science.acids_bases import Agent
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.dosing import acid_demand_meq_l, after_dose, dose_for_ph
from rounds.science.saturation import would_throw_down
from rounds.science.solution import Solution
from rounds.science.speciation import aired, ph_closed, ph_open

SPARE = 1.15
"""In a warm week more is drunk than in the last three weeks: common practice. [-]"""
FIRST_SHARE = 0.75
"""Share of the acid that is poured before A and B: 70-80 %, common practice. [-]"""
LEAST_ACID_MEQ_L = 0.05
MOST_DAYS = 31
_TEMPERATURE_C = 15.0
_AIR_ATM = 4.2e-4
"""CO2 in outdoor air. [atm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TopUpTank:
    """What one tank of top-up is made of, and what it will be."""

    reservoir: Reservoir
    water: KnownWater
    feed: KnownFeed
    days: int
    litres: float
    drinking: Drinking
    strength: float
    """Share of full strength. [-]"""
    pours_ml: tuple[float, ...]
    """Of each part of the feed. [mL]"""
    acid: Acid | None
    first_ml: float
    """Poured before A and B. [mL]"""
    rest_ml: float
    """At most, in steps by reading, after a night in the air. [mL]"""
    target_ph: float
    ph_aired: float
    """Once the CO2 has left and all acid is in. [-]"""
    ph_fresh: float
    """Straight after the first acid, A and B. [-]"""
    ec_ms_cm: float
    mixed: Solution
    short: tuple[str, ...]

    @property
    def is_soft(self) -> bool:
        """Whether no acid is needed."""
        return self.acid is None


def top_up_tank(
    farm: Farm, reservoir_id: str, days: int, drinking: Drinking, stock: Mapping[str, float], today: date
) -> TopUpTank:
    """Work out a tank.

    Parameters
    ----------
    days : int
        Days away, 1 to 31.
    drinking : Drinking
        What the reservoir loses in a day.
    stock : mapping
        Amount of every product now, each in its unit of the shelf.

    Raises
    ------
    NotFound
        Where there is no such reservoir.
    OutOfRange
        For days or litres that cannot be.
    Refused
        Where acid is needed and there is none of known strength.
    """
    reservoir = farm.reservoir(reservoir_id)
    _check(days, drinking)
    water = water_known(farm, reservoir.waters[0], today)
    feed = feed_known(farm, farm.feeds[reservoir.feed])
    if feed.unknown and reservoir.top_up_strength > 0.0:
        raise unknown_feed(feed.unknown)
    litres = max(1.0, litres_near(drinking.litres_per_day * days * SPARE).amount)
    strength = reservoir.top_up_strength
    low, high = farm.stage_of(reservoir).ph
    pours_ml = tuple(millilitres_down(per_l * strength * litres).amount for per_l in feed.ml_per_l)
    fed = water.solution.plus(feed.full.scaled(strength))
    acid = _acid(farm, fed, (low + high) / 2.0, stock)
    first, rest, whole = _pours(fed, acid[1], (low + high) / 2.0, litres) if acid else (0.0, 0.0, fed)
    fresh = after_dose(fed, acid[1], first, litres) if acid else fed
    poured = dict(zip(feed.ids, pours_ml, strict=True))
    return TopUpTank(
        reservoir=reservoir, water=water, feed=feed, days=days, litres=litres, drinking=drinking, strength=strength,
        pours_ml=pours_ml, acid=acid[0] if acid else None, first_ml=first, rest_ml=rest, target_ph=(low + high) / 2.0,
        ph_aired=ph_open(whole, _TEMPERATURE_C), ph_fresh=ph_closed(fresh, _TEMPERATURE_C),
        ec_ms_cm=ec25_ms_cm(aired(whole, _TEMPERATURE_C, _AIR_ATM)), mixed=whole,
        short=_short(farm, stock, poured | ({acid[0].id: first + rest} if acid else {})),
    )  # fmt: skip


def top_up_sheet(tank: TopUpTank) -> MixSheet:
    """The sheet for making the tank."""
    name = tank.reservoir.name
    return MixSheet(
        kind="top-up",
        title=f"Top-up tank for {name}: {tank.litres:g} L for {days_text(tank.days)} away",
        cautions=_cautions(tank),
        steps=_steps(tank),
        label=(
            f"TOP-UP for {name} ONLY · {tank.strength:.0%} feed, pH about {tank.target_ph:.1f}, "
            f"EC about {tank.ec_ms_cm:.1f}",
            "Not drinking water, not for animals. Made on ______",
        ),
        notes=_notes(tank),
        figures={
            "litres_l": tank.litres, "days_d": float(tank.days),
            **{f"{letter}_ml": ml for letter, ml in zip("abcd", tank.pours_ml, strict=False)},
            "acid_first_ml": tank.first_ml, "acid_rest_ml": tank.rest_ml, "target_ph": tank.target_ph,
            "ph_aired": tank.ph_aired, "ph_fresh": tank.ph_fresh, "ec_ms_cm": tank.ec_ms_cm,
            "litres_per_day_l": tank.drinking.litres_per_day,
        },
    )  # fmt: skip


def _check(days: int, drinking: Drinking) -> None:
    if not 1 <= days <= MOST_DAYS:
        raise OutOfRange(f"A tank for {days_text(days)} cannot be made.", f"Expected 1 to {MOST_DAYS} days.")
    if not 0.0 < drinking.litres_per_day <= MOST_L_DAY:
        raise OutOfRange(f"{drinking.litres_per_day:g} L a day cannot be.", "Expected more than 0 L a day.")


def _acid(farm: Farm, fed: Solution, target: float, stock: Mapping[str, float]) -> tuple[Acid, Agent] | None:
    if acid_demand_meq_l(fed, target, _TEMPERATURE_C, pco2_atm=_AIR_ATM) < LEAST_ACID_MEQ_L:
        return None
    found = acid_for(farm, stock)
    if found is None:
        why = next((f". {reason}" for reason in why_not_dosed(farm)), ", and no working acid is on the shelf.")
        raise Refused(
            f"This tank needs acid{why}",
            "Enter its percent in shelf.toml, or make a bottle: `rounds mix FARM working`.",
        )
    return found


def _pours(fed: Solution, agent: Agent, target: float, litres: float) -> tuple[float, float, Solution]:
    """First pour, rest, and the tank with both: to the target once the air has taken the CO2."""
    whole = dose_for_ph(fed, target, agent, _TEMPERATURE_C, litres, pco2_atm=_AIR_ATM)
    first = millilitres_down(FIRST_SHARE * whole).amount
    rest = millilitres_down(whole - first).amount
    return first, rest, after_dose(fed, agent, first + rest, litres)


def _short(farm: Farm, stock: Mapping[str, float], needed: Mapping[str, float]) -> tuple[str, ...]:
    said = []
    for product_id, ml in needed.items():
        left = millilitres_left(farm, dict(stock), product_id)
        if left < ml:
            product: Product = farm.shelf[product_id]
            said.append(f"{product.name}: {left:.0f} mL are left of the {ml:.0f} mL needed.")
    return tuple(said)


def _cautions(tank: TopUpTank) -> tuple[str, ...]:
    acid = c.for_acid(tank.acid) if tank.acid is not None else ()
    kept = [each for each in acid if each not in (c.SLOWLY, c.LOCAL)]
    return (*kept, c.NOT_TOGETHER, "Lid on, dark, marked: it is neither for drinking nor for animals.", c.LOCAL)


def _steps(tank: TopUpTank) -> tuple[MixStep, ...]:
    steps = [MixStep(text=f"Fill {tank.litres:g} L of {tank.water.name} into a clean dark tank.", what=tank.water.id,
                     amount=tank.litres, unit="L")]  # fmt: skip
    if tank.acid is not None and tank.first_ml > 0.0:
        steps += [
            MixStep(text=f"Stir in {tank.first_ml:g} mL of {tank.acid.name}, thinned in a bucket of the tank's water: "
                    "three quarters of the acid come before A and B.",
                    what=tank.acid.id, amount=tank.first_ml, unit="mL"),
            MixStep(text="Stir and air for half an hour: the CO2 that was set free leaves."),
        ]  # fmt: skip
    steps += _feed_steps(tank)
    if tank.acid is not None and tank.rest_ml > 0.0:
        step_ml = millilitres_down(max(tank.rest_ml / 4.0, 0.5)).amount
        steps.append(
            MixStep(text=f"Next day, after a night in the air, read the pH. While it is above "
                    f"{tank.target_ph + 0.2:.1f} stir in {step_ml:g} mL of {tank.acid.name}, wait ten minutes, read "
                    f"again; {tank.rest_ml:g} mL in all at most.",
                    what=tank.acid.id, amount=tank.rest_ml, unit="mL")
        )  # fmt: skip
    steps.append(
        MixStep(text=f"Read pH and EC: about {tank.target_ph:.1f} and {tank.ec_ms_cm:.2f} mS/cm. Label it, lid on.")
    )
    return tuple(steps)


def _feed_steps(tank: TopUpTank) -> list[MixStep]:
    """The parts of the feed, one after the other."""
    steps, before = [], ""
    for part, ml in zip(tank.feed.products, tank.pours_ml, strict=True):
        text = f"When {before} has spread, stir in" if before else "Stir in"
        rinse = "" if before else " Rinse the jug."
        steps.append(MixStep(text=f"{text} {ml:g} mL of {part.name}.{rinse}", what=part.id, amount=ml, unit="mL"))
        before = part.part
    return steps


def _notes(tank: TopUpTank) -> tuple[str, ...]:
    seen = f"seen over the last {tank.drinking.days:.0f} days" if tank.drinking.days else "as stated"
    notes = [
        f"{tank.drinking.litres_per_day:.1f} L a day ({seen}) for {days_text(tank.days)}, "
        f"and {SPARE - 1:.0%} to spare.",
        "The helper only tops up to the mark with it, and pours nothing else.",
    ]
    if tank.acid is not None:
        notes.append(
            f"pH about {tank.ph_fresh:.1f} after the first acid, A and B, and {tank.ph_aired:.1f} once all acid is in "
            "and the CO2 has left. Alkalinity is known to a seventh at best: the last quarter goes by reading."
        )
    else:
        notes.append("This water needs no acid.")
    return (*notes, *tank.short, *would_throw_down(tank.mixed, _TEMPERATURE_C, tank.target_ph))


def tank_or_none(
    farm: Farm, reservoir_id: str, days: int, drinking: Drinking | None, stock: Mapping[str, float], today: date
) -> TopUpTank | None:
    """The tank, or None where it cannot be worked out."""
    if drinking is None:
        return None
    try:
        return top_up_tank(farm, reservoir_id, days, drinking, stock, today)
    except (NotFound, OutOfRange, Refused):
        return None
