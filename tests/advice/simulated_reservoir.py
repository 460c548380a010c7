"""A reservoir that is really there only in the chemistry engine, and a grower who follows the advice and nothing else.

The tool sees noisy readings. Hidden from it: how far phosphate and ammonium are worn, the true alkalinity of the water,
how much CO2 there is, how fast it leaves, the volume, the strength of bottles, what the plants do.
"""

from __future__ import annotations

import dataclasses
import math
import random
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from light_farm import ACID, BASE, CONCENTRATES, MORNING, Note, a_farm, hard_water

from rounds.advice.correction import POURED, Correction, Readings, correct
from rounds.book.composition import concentrate_solution, water_known
from rounds.book.measures import vessel_for
from rounds.book.offer import form_of
from rounds.farm.farm import Farm
from rounds.farm.model import Limits
from rounds.farm.shelf import Acid, Base
from rounds.science.acids_bases import agent_by_molarity
from rounds.science.equilibrium import Equilibrium
from rounds.science.solution import Solution, mix
from rounds.science.speciation import AIR_PCO2_ATM, co2_activity_m, with_ph

QUESTIONS = ("jar_test", "buffer_4", "strip")
LOW, HIGH = 5.5, 6.1
BAND = (LOW, HIGH)


@dataclass
class Truth:
    """What is really in the reservoir."""

    solution: Solution
    volume_l: float
    temperature_c: float
    resting_atm: float
    leaving_per_h: float
    plants_meq_l_day: float
    strength: dict[str, float]
    ph: float = 7.0
    engine: Equilibrium = field(init=False)
    lowest: float = 99.0
    highest: float = -99.0

    def __post_init__(self) -> None:
        self.engine = Equilibrium(self.solution, self.temperature_c)
        self.resting_m = co2_activity_m(self.resting_atm, self.temperature_c)
        self.settle()

    def settle(self) -> None:
        self.engine.load(self.solution)
        self.ph = self.engine.balance(self.ph)
        self.lowest, self.highest = min(self.lowest, self.ph), max(self.highest, self.ph)

    def wait(self, hours: float) -> None:
        """CO2 leaves by its own gradient, the plants move the alkalinity."""
        steps = max(1, math.ceil(hours / 0.75))
        step = hours / steps
        for _ in range(steps):
            co2 = self.engine.amounts_m().get("CO2", 0.0)
            gone = self.leaving_per_h * (co2 - self.resting_m) * 1000.0 * step
            carbonate = max(self.solution.carbonate - gone, 1e-4)
            inert = self.solution.inert_meq_l + self.plants_meq_l_day * step / 24.0
            self.solution = dataclasses.replace(self.solution, carbonate=carbonate, inert_meq_l=inert)
            self.settle()

    def top_up(self, water: Solution, litres: float) -> None:
        self.solution = mix([(self.solution, self.volume_l), (water, litres)])
        self.volume_l += litres
        self.settle()

    def pour(self, kind: str, agent: str, mol_l: float, ml: float) -> None:
        brought = agent_by_molarity(agent, mol_l * self.strength[kind]).per_ml.scaled(ml / self.volume_l)
        self.solution = self.solution.plus(brought)
        self.settle()


@dataclass
class Grower:
    """Follows the advice: reads, pours, waits, reads again."""

    farm: Farm
    truth: Truth
    rng: random.Random
    noise: float
    now: datetime
    records: list[Note] = field(default_factory=list)
    rechecks: int = 0
    readings: int = 0
    advice: Correction | None = None
    expected: list[tuple[float, float, float, float]] = field(default_factory=list)
    """(read, low, high, middle) of every recheck."""
    water: Solution = field(default_factory=Solution)
    """The water at hand as it really is."""
    inside_l: float = 300.0
    """What the dip says."""
    pour_times: float = 1.0
    """How much is really poured of acid and base, against what is entered."""
    a_times: float = 1.0
    named: set[str] = field(default_factory=set)
    """Codes of everything the tool refused so far."""
    swapped: bool = False
    """Whether acid and base have changed places."""
    reads_cl: bool = False
    """Whether mL is read as cL; poured is what the vessel named by the step takes in its fills."""
    named_at: dict[str, int] = field(default_factory=dict)
    """Codes of all that the tool said, and after how many rechecks it said it first."""
    ec_noise: float = 0.0
    """Error of the EC meter; where it is above 0 what was read is put on record. [mS/cm]"""
    ended: str = ""

    def read(self) -> float:
        self.readings += 1
        value = round(self.truth.ph + self.rng.gauss(0.0, self.noise) + self.meter_off, 2)
        self.note("reading", "ph", value)
        return value

    meter_off: float = 0.0
    refuses: bool = False
    jars: int = 0
    strips: int = 0
    bufs: int = 0
    is_stuck: Any = None
    asked_now: set[str] = field(default_factory=set)

    def shown(self, ph: float) -> float:
        if self.is_stuck is not None:
            return self.is_stuck[0]
        return round(ph + self.rng.gauss(0.0, self.noise) + self.meter_off, 2)

    def answer(self, question: Any) -> None:
        """Do what is asked, truthfully, with the errors that strips, syringes and jars have."""
        if question.action == "jar_test":
            self.jars += 1
            kind = "acid" if question.product == "acid" else "base"
            other = BASE if kind == "acid" else ACID
            agent = other if self.swapped else self.farm.shelf[question.product]
            per_l = question.amount * self.pour_times * (1.0 + self.rng.gauss(0.0, 0.08))
            strength = agent.molarity_mol_l * self.truth.strength[kind]
            jar = self.truth.solution.plus(agent_by_molarity(agent.agent, strength).per_ml.scaled(per_l))
            engine = Equilibrium(jar, self.truth.temperature_c)
            engine.load(jar)
            data = {"product": question.product, "ml_per_l": question.amount}
            self.note("reading", "jar", self.shown(engine.balance(self.truth.ph)), data=data)
        elif question.action == "buffer_4":
            self.bufs += 1
            self.note(
                "reading",
                "buffer-4",
                self.is_stuck[0] if self.is_stuck is not None else round(4.01 + self.rng.gauss(0, 0.03), 2),
                station="",
            )
        else:
            self.strips += 1
            self.note("reading", "strip", round(self.truth.ph + self.rng.gauss(0, 0.25), 1))

    def note(self, kind: str, item: str, value: Any, **more: Any) -> None:
        self.records.append(
            Note(kind=kind, item=item, value=value, measured_at=self.now, id=f"n{len(self.records)}", **more)
        )

    def buffer(self) -> None:
        self.note("reading", "buffer", 7.02, station="", data={"buffer": 7.0, "temperature_c": 20.0})

    def ask(self) -> Correction:
        ph = self.read()
        self.advice = correct(self.farm, self.records, "r", self.seen(ph), self.now)
        if any(f.code == "dip-twice" for f in self.advice.findings):
            self.pass_time(2.0)
            self.advice = correct(self.farm, self.records, "r", self.seen(self.read()), self.now)
        for _ in range(3):
            question = next((s for s in self.advice.steps if s.action in QUESTIONS), None)
            if question is None or self.refuses or question.action in self.asked_now:
                break
            self.asked_now.add(question.action)
            self.answer(question)
            self.pass_time(3.0)
            self.advice = correct(self.farm, self.records, "r", self.seen(self.read()), self.now)
        self.asked_now.clear()
        for said in (*self.advice.findings, *self.advice.refusals):
            self.named_at.setdefault(said.code, self.rechecks)
        return self.advice

    def seen(self, ph: float) -> Readings:
        ec = round(ec_of(self.truth.solution) + self.rng.gauss(0.0, self.ec_noise), 2)
        if self.ec_noise:
            self.note("reading", "ec", ec)
        return Readings(
            at=self.now, ph=ph, ec_ms_cm=ec, volume_l=round(self.inside_l, 1),
            temperature_c=round(self.truth.temperature_c, 1), ph_meter="pen", ec_meter="stick",
        )  # fmt: skip

    def pass_time(self, minutes: float) -> None:
        self.truth.wait(minutes / 60.0)
        self.now += timedelta(minutes=minutes)

    def bring_into_band(self, most: int = 16) -> str:
        """Follow the advice until it says that all is well, or stops."""
        self.buffer()
        again = 0
        for _ in range(most * 2):
            advice = self.ask()
            if not any(step.action in POURED for step in advice.steps):
                codes = {r.code for r in advice.refusals}
                self.named |= codes
                if (
                    codes & {"bottle-doubtful", "no-effect"}
                    or any(c.startswith("likely-bottle") or c == "likely-half-circulates" for c in codes)
                ) and self.bottles_are_right:
                    self.note("check", "bottles", True)
                    continue
                if "jar-unexplained" in codes and again < 6:
                    again += 1
                    continue
                if ("surprise" in codes or "still-mixing" in codes) and again < 6:
                    again += 1
                    self.pass_time(5.0 if "surprise" in codes else advice.steps[0].wait_min + 0.1)
                    continue
                self.ended = ",".join(sorted(codes)) or "in band"
                return self.ended
            self.do(advice)
        self.ended = "never"
        return self.ended

    def live(self, days: int) -> list[tuple[int, float, float, float]]:
        """Walk every morning for some days and follow the advice; what was foreseen for 12 hours on, and what came.

        Returns
        -------
        list of (corrections so far, read, low, high)
        """
        seen = []
        for _ in range(days):
            start = self.now
            self.bring_into_band()
            if self.advice is not None:
                span = self.advice.prediction["next_morning"]["ph"]
                self.pass_time(12.0 * 60.0)
                shown = self.truth.ph + self.rng.gauss(0.0, self.noise)
                seen.append((self.corrections, shown, span["low"], span["high"]))
            rest = 24.0 * 60.0 - (self.now - start).total_seconds() / 60.0
            self.pass_time(max(rest, 1.0))
        return seen

    @property
    def bottles_are_right(self) -> bool:
        return not self.swapped and self.pour_times == 1.0

    @property
    def corrections(self) -> int:
        return sum(1 for r in self.records if r.kind == "correction")

    def do(self, advice: Correction) -> None:
        """Every step as advised, then the recheck."""
        self.note("correction", "", None, data={"prediction": advice.prediction, **form_of(advice)})
        correction_id = self.records[-1].id
        for step in advice.steps:
            if step.action in POURED:
                self.pour(step, correction_id)
            self.pass_time(step.wait_min)
        self.pass_time(3.0 * 320.0 / 20.0 - advice.steps[-2].wait_min if advice.steps[-2].wait_min < 48.0 else 0.0)
        self.pass_time(self.rng.uniform(1.0, 20.0))
        self.rechecks += 1
        span = advice.prediction["mixed"]["ph"]
        self.expected.append(
            (self.truth.ph + self.rng.gauss(0.0, self.noise), span["low"], span["high"], span["value"])
        )

    def measured(self, step: Any) -> float:
        """What really is in the cylinder. [mL]"""
        if not self.reads_cl:
            return step.amount
        vessel = vessel_for(step.amount, self.farm.limits.vessels_ml)
        return min(10.0 * step.amount, vessel.fills * vessel.size_ml)

    def pour(self, step: Any, correction_id: str) -> None:
        """One step into the true reservoir, and on record."""
        if step.action == "top_up":
            self.truth.top_up(self.water, step.amount)
            self.inside_l += step.amount
        elif step.action in ("acid", "base"):
            product = self.farm.shelf[step.product]
            other = BASE if step.action == "acid" else ACID
            agent = other if self.swapped else product
            poured = self.measured(step) * self.pour_times * (1.0 + self.rng.gauss(0.0, 0.01))
            self.truth.pour(step.action, agent.agent, agent.molarity_mol_l, poured)
        elif step.action in ("concentrate_a", "concentrate_b"):
            liquid = concentrate_solution(self.farm.shelf[step.product])
            times = self.a_times if step.action == "concentrate_a" else 1.0
            self.truth.top_up(liquid, self.measured(step) * times / 1000.0)
        else:
            raise AssertionError(f"the simulation has no {step.action}")
        data = {"action": step.action, "correction": correction_id, "advised": step.amount}
        self.note("dose", step.product, step.amount, unit=step.unit, data=data)


def random_grower(
    seed: int, *, told_factor: float = math.log(2.0), fresh_share: float = 0.3, ec: tuple[float, float] = (0.6, 4.0)
) -> Grower:
    """One reservoir of the many that are believable."""
    rng = random.Random(seed)
    noise = rng.uniform(0.05, 0.1)
    told = rng.uniform(0.3, 5.0)
    times = math.exp(rng.uniform(-told_factor, told_factor))
    farm = a_farm(
        waters=(hard_water(told, analysed_on=None),), ph=BAND, ec=ec, ph_tolerance=2.0 * noise,
        limits=Limits(), dip_error_cm=1.0,
    )  # fmt: skip
    temperature = rng.uniform(14.0, 26.0)
    resting = AIR_PCO2_ATM * math.exp(rng.uniform(0.0, math.log(10.0)))
    strength = {"acid": math.exp(rng.gauss(0.0, 0.07)), "base": math.exp(rng.gauss(0.0, 0.07))}
    volume = 320.0 * math.exp(rng.gauss(0.0, 0.08))
    plants = rng.choice((1.0, 1.0, 1.0, -1.0)) * math.exp(rng.uniform(math.log(0.01), math.log(0.08)))
    fresh = rng.random() < fresh_share
    make = _fresh if fresh else _worn
    solution, records = make(rng, farm, temperature, resting, told, times)
    truth = Truth(
        solution=solution, volume_l=volume, temperature_c=temperature, resting_atm=resting,
        leaving_per_h=math.exp(rng.uniform(math.log(0.1), math.log(0.5))), plants_meq_l_day=plants, strength=strength,
    )  # fmt: skip
    if fresh:
        truth.wait((MORNING - records[-1].measured_at).total_seconds() / 3600.0)
    truth.lowest = truth.highest = truth.ph
    water = _true_water(farm, told, times)
    return Grower(farm=farm, truth=truth, rng=rng, noise=noise, now=MORNING, records=records, water=water)


def _feed() -> Solution:
    a, b = (concentrate_solution(c).scaled(0.01) for c in CONCENTRATES)
    return a.plus(b)


def ec_of(solution: Solution) -> float:
    from rounds.science.conductivity import ec25_ms_cm

    return round(ec25_ms_cm(solution, 6.0), 2)


def _true_water(farm: Farm, told: float, times: float) -> Solution:
    """The water as it really is: its alkalinity and the calcium that came with it are off together."""
    known = water_known(farm, "well", MORNING.date()).solution
    extra = told * (times - 1.0)
    return dataclasses.replace(
        known, inert_meq_l=known.inert_meq_l + extra, carbonate=max(known.carbonate * times, 0.01)
    )


def _worn(
    rng: random.Random, farm: Farm, temperature: float, resting: float, told: float, times: float
) -> tuple[Solution, list[Note]]:
    """Days after the change-out: phosphate, ammonium and potassium worn, CO2 at rest, the pH off to one side."""
    strength = rng.uniform(0.7, 1.0)
    mixed = _true_water(farm, told, times).plus(_feed().scaled(strength))
    left = rng.uniform(0.2, 1.0)
    worn = dataclasses.replace(
        mixed,
        po4=mixed.po4 * left,
        nh4=mixed.nh4 * rng.uniform(0.0, 0.3),
        k=mixed.k * rng.uniform(0.5, 1.0),
        carbonate=0.0,
    )
    off = rng.uniform(0.05, 0.9)
    ph = HIGH + off if rng.random() < 0.75 else LOW - 0.7 * off
    solution = at_rest(worn, ph, temperature, resting)
    days = rng.uniform(4.0, 25.0)
    start = MORNING - timedelta(days=days)
    records = _fill_records(start, strength)
    return solution, records


def _fresh(
    rng: random.Random, farm: Farm, temperature: float, resting: float, told: float, times: float
) -> tuple[Solution, list[Note]]:
    """Just filled: most of the acid of the book is in, the alkalinity was not quite what was told."""
    from rounds.errors import RoundsError
    from rounds.science.dosing import after_dose, dose_for_ph

    strength = rng.uniform(0.7, 1.0)
    feed = _feed().scaled(strength * math.exp(rng.gauss(0.0, 0.04)))
    told_mix = water_known(farm, "well", MORNING.date()).solution.plus(feed)
    acid = agent_by_molarity("nitric", 1.3)
    try:
        ml = rng.uniform(0.5, 0.75) * dose_for_ph(told_mix, 5.8, acid, temperature, 320.0)
    except RoundsError:
        ml = 0.0
    true_mix = _true_water(farm, told, times).plus(feed)
    filled = after_dose(true_mix, acid, ml, 320.0)
    start = MORNING - timedelta(hours=rng.uniform(0.7, 3.0))
    records = _fill_records(start, strength)
    records.append(
        Note(kind="dose", item="acid", value=ml, unit="mL", measured_at=start + timedelta(minutes=8),
             data={"action": "acid"}, id="fill-acid")
    )  # fmt: skip
    return filled, records


def _fill_records(start: datetime, strength: float) -> list[Note]:
    feed_ml = 3200.0 * strength
    steps = (
        ("well", "change_out", 320.0, "L"),
        ("a", "concentrate_a", feed_ml, "mL"),
        ("b", "concentrate_b", feed_ml, "mL"),
    )
    return [
        Note(kind="dose", item=item, value=value, unit=unit, measured_at=start + timedelta(minutes=5 * i),
             data={"action": action}, id=f"fill{i}")
        for i, (item, action, value, unit) in enumerate(steps)
    ]  # fmt: skip


def at_rest(solution: Solution, ph: float, temperature: float, pressure: float) -> Solution:
    """The solution with the CO2 of that pressure and as much alkalinity as makes that pH."""
    from rounds.science.speciation import with_ph_by_charge

    engine = Equilibrium(solution, temperature, co2_activity_m(pressure, temperature))
    engine.settle(ph)
    carbonate = engine.carbonate_m() * 1000.0
    return with_ph_by_charge(dataclasses.replace(solution, carbonate=carbonate), ph, temperature)


__all__ = ["ACID", "BASE", "Acid", "Base", "Grower", "Truth", "mix", "random_grower", "with_ph"]
