"""The plan as it grows: every step with its amount, its cautions, its wait and where the reservoir stands after it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec.structs import replace

from rounds.advice import cautions as c
from rounds.advice.case import MIXING_TURNOVERS, Case
from rounds.advice.dose_rule import BUFFER, Trial
from rounds.advice.dosing_ph import PlannedDose
from rounds.advice.faults import NAMES
from rounds.advice.products import Bottle
from rounds.advice.projection import Projection, as_read, drained, with_dose, with_liquid, with_water
from rounds.belief.bank import Bank
from rounds.book.actions import ASKED, POURED, Action
from rounds.book.amounts import SMALLEST_ML
from rounds.book.composition import KnownWater, concentrate_solution
from rounds.book.measurements import PUMP, TITRATION
from rounds.book.measures import THINNED, Measured, litres_near, millilitres_down, vessel_for
from rounds.book.message import Message, say
from rounds.book.offer import Step
from rounds.farm.shelf import Acid, Concentrate
from rounds.farm.volumes import litres_to_dip

_LEAST_WAIT_MIN = 5.0
_POUR_ML_PER_MIN = 50.0
_FLOW_GUESSED = "flow is a guess: `measure pump` measures it by jug and clock"
BOTH = ("pH", "EC")
"""The readings that a correction hangs on."""
ACTIONS: Mapping[str, Action] = {"jar-test": "jar_test", "buffer-4": "buffer_4", "strip": "strip"}
"""What is done for each question; nothing is asked twice in a plan."""
PARTS: tuple[Action, ...] = ("concentrate_a", "concentrate_b", "concentrate_c", "concentrate_d")
"""What pouring each part of a feed is called, in the order of pouring."""
BUCKET_L = 10.0
"""Of a jar test whose dose for one litre is too small to be measured. [L]"""


class StepPlan:
    """Steps in order, and the reservoir after the last of them."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.projected: Projection = as_read(case)
        self.steps: list[Step] = []
        self.banks: dict[str, Bank] = {}
        """What is believed of the faults of each bottle that was thought of."""
        self.explain: list[str] = []

    @property
    def mixing_min(self) -> float:
        """Minutes of three turnovers, as the reservoir stands now. [min]"""
        return max(_LEAST_WAIT_MIN, round(MIXING_TURNOVERS * self.projected.volume_l / self.case.reservoir.pump_l_min))

    def add(
        self, action: Action, says: Message, *, why: Message | None = None, product: str | None = None,
        amount: float = 0.0, unit: str = "", wait_min: float = 0.0, cautions: tuple[str, ...] = (),
        explain: tuple[str, ...] = (), of_water: str | None = None, thinned: float = 1.0,
    ) -> None:  # fmt: skip
        """Put a step at the end."""
        self.steps.append(
            Step(
                action=action, product=product, amount=amount, unit=unit, wait_min=wait_min, cautions=cautions,
                says=says, because=why, after=self.projected.after(), explain=explain, of_water=of_water,
                thinned=thinned,
            )
        )  # fmt: skip

    def look_first(self, says: Message, why: Message, cautions: tuple[str, ...]) -> None:
        """Something to look at before all else."""
        after = as_read(self.case).after()
        self.steps.insert(0, Step(action="look", says=says, because=why, cautions=cautions, after=after))

    def look(self, says: Message, why: Message) -> None:
        """Something to look at first."""
        self.add("look", says, why=why)

    def buffer_dip(self, *, first: bool = False) -> None:
        """A dip of the probe in buffer; with `first` before everything else."""
        tolerance = self.case.farm.limits.buffer_tolerance_ph
        self.add("buffer_dip", say("dip-in-buffer", tolerance=tolerance), why=say("no-buffer-dip"))
        if first:
            self._put_forward(0)

    def ask(
        self, trial: Trial, bottle: Bottle, water: KnownWater | None = None, *, first: bool = False, behind: int = 0
    ) -> None:
        """A question whose answer allows a larger dose: without it what follows is as much as is safe even so.

        With `first` it comes before everything else but the first steps, so many as `behind` says.
        """
        if any(step.action == ACTIONS[trial.code] for step in self.steps):
            return
        self._put_question(trial, bottle, water)
        if first:
            self._put_forward(behind)

    def _put_forward(self, place: int) -> None:
        """The last step to a place at the start, where the reservoir stands as it was read."""
        self.steps.insert(place, replace(self.steps.pop(), after=as_read(self.case).after()))

    def _put_question(self, trial: Trial, bottle: Bottle, water: KnownWater | None) -> None:
        why = _why_asked(trial)
        if trial.code == "buffer-4":
            self.add("buffer_4", say("dip-in-acid-buffer"), why=why)
        elif trial.code == "strip":
            self.add("strip", say("read-a-strip"), why=why)
        else:
            litres = 1.0 if trial.ml_per_l >= SMALLEST_ML else BUCKET_L
            into = millilitres_down(max(trial.ml_per_l * litres, SMALLEST_ML))
            liquid = say("own-water") if water is None else water.name
            self.add(
                "jar_test", say("jar-test", into=str(into), name=bottle.product.name, litres=litres, liquid=liquid),
                why=why, product=bottle.product.id, amount=round(into.amount / litres, 4), unit="mL/L",
                cautions=c.for_jar(bottle.product), of_water=None if water is None else water.id,
            )  # fmt: skip

    def read_again(self, items: tuple[str, ...], why: Message) -> None:
        """A reading that must come before the next step."""
        self.add("read_again", say("read-before-going-on", items=items), why=why)

    def read_first(self, items: tuple[str, ...], why: Message, *, feed_waits: bool = False) -> None:
        """A doubted reading put before everything that is poured on it, which then says what it hangs on.

        A buffer dip that comes later comes before it: a probe is tried before it is asked again. With `feed_waits` A
        and B are left out until the second reading, and it is said.
        """
        now = as_read(self.case).after()
        feed = (say("feed-waits-for-reading"),) if feed_waits else ()
        one = len(items) == 1
        says = say("read-one-first", item=items[0], feed=feed) if one else say("read-all-first", items=items, feed=feed)
        first = [Step(action="read_again", says=says, because=why, after=now)]
        dips = [step for step in self.steps if step.action == "buffer_dip"] if "pH" in items else []
        if dips:
            first.insert(0, replace(dips[0], after=now))
        kept = [step for step in self.steps if step not in dips and step.action not in ASKED]
        self.steps = [*first, *_hanging_on_it(kept)]

    def circulate(self, why: Message, turnovers: float = 1.0) -> None:
        """Let the pump mix."""
        minutes = max(_LEAST_WAIT_MIN, round(turnovers * self.projected.volume_l / self.case.reservoir.pump_l_min))
        self.add(
            "circulate", say("run-the-pump", minutes=minutes), why=why, wait_min=minutes,
            explain=(
                f"wait = {turnovers:g} x {self.projected.volume_l:.0f} L / {self.case.reservoir.pump_l_min:g} L/min"
                f" ({self.case.farm.source_of(self.case.reservoir.id, PUMP, _FLOW_GUESSED)})",
            ),
        )  # fmt: skip

    def read_when_mixed(self) -> None:
        """Have the pH read when the pump has mixed: the next step hangs on it."""
        says = self.steps[-1].says
        assert says is not None and self.steps[-1].action == "circulate"
        self.steps[-1] = replace(self.steps[-1], says=say("run-the-pump-then-read", minutes=self.steps[-1].wait_min))

    def drain_off(self, litres: float, why: Message | None) -> None:
        """Take some out."""
        measured = litres_near(litres)
        before_l = self.projected.inside_l
        self.projected = drained(self.projected, measured.amount)
        self.add(
            "drain_off", say("drain-off", measured=str(measured), dip=self._dip(before_l)), why=why,
            amount=measured.amount, unit="L", cautions=(c.PLUG_BEFORE_DRAIN, c.WET_FLOOR),
        )  # fmt: skip

    def top_up(self, water: KnownWater, litres: float, why: Message | None) -> None:
        """Add water; a blend as a step for each of its parts."""
        whole = litres_near(litres)
        for part, share in self._parts(water):
            measured = litres_near(whole.amount * share)
            if measured.amount <= 0.0:
                continue
            before_l = self.projected.inside_l
            self.projected = with_water(self.projected, part, measured.amount)
            hard = (c.HARD_WATER_SLOWLY,) if part.is_hard else ()
            self.add(
                "top_up", say("add-water", measured=str(measured), name=part.name, dip=self._dip(before_l)), why=why,
                product=part.id, amount=measured.amount, unit="L", cautions=(*hard, c.RINSE),
                explain=self._of_water(part),
            )  # fmt: skip

    def stand_with(self, pours: Sequence[Measured]) -> Projection:
        """Where the reservoir would stand with so much of each part, without putting them into the plan."""
        projected = self.projected
        for product, measured in zip(self.case.feed.products, pours, strict=True):
            projected = _with_concentrate(projected, product, measured)
        return projected

    def concentrates(self, pours: Sequence[Measured], why: Message | None, explain: tuple[str, ...]) -> None:
        """A, circulate, B, and so on: never together."""
        for number, (product, measured) in enumerate(zip(self.case.feed.products, pours, strict=True)):
            if number > 0:
                self.circulate(say("a-before-b") if number == 1 else say("part-before-next"))
            self.concentrate(PARTS[number], product, measured, why, explain if number == 0 else ())

    def concentrate(
        self, action: Action, product: Concentrate, measured: Measured, why: Message | None, explain: tuple[str, ...]
    ) -> None:
        """One part alone."""
        self.projected = _with_concentrate(self.projected, product, measured)
        says = say("pour-concentrate", measured=str(measured), name=product.name, vessel=self._vessel(measured))
        self.add(
            action, says, why=why, product=product.id, amount=measured.amount, unit=measured.unit,
            cautions=c.for_concentrate(product), explain=explain,
        )  # fmt: skip

    def dose(
        self, bottle: Bottle, dose: PlannedDose, why: Message, explain: tuple[str, ...], only_above: float | None = None
    ) -> None:
        """Acid or base; with `only_above` the pH that must show first."""
        product, measured = bottle.product, dose.measured
        self.projected = with_dose(self.projected, bottle.agent, measured.amount, self.mixing_min / 60.0)
        only = () if only_above is None else (say("only-above", ph=only_above),)
        if dose.thinned is not None:
            vessel = self._vessel(dose.thinned)
            says = say("pour-thinned", measured=str(measured), name=product.name, thinned=str(dose.thinned),
                       vessel=vessel)  # fmt: skip
        else:
            minutes = max(2.0, measured.amount / _POUR_ML_PER_MIN)
            says = say("pour-dose", measured=str(measured), name=product.name, vessel=self._vessel(measured),
                       minutes=minutes, only=only)  # fmt: skip
        self.add(
            "acid" if isinstance(product, Acid) else "base", says, why=why, product=product.id, amount=measured.amount,
            unit=measured.unit, wait_min=self.mixing_min,
            cautions=c.for_acid(product) if isinstance(product, Acid) else c.for_base(product), explain=explain,
            thinned=1.0 if dose.thinned is None else THINNED,
        )  # fmt: skip

    def recheck(self, items: tuple[str, ...], why: Message) -> None:
        """The reading that tests the correction."""
        self.add("recheck", say("recheck", items=items, minutes=self.mixing_min), why=why)

    def _vessel(self, measured: Measured) -> str:
        return str(vessel_for(measured.amount, self.case.farm.limits.vessels_ml))

    def _parts(self, water: KnownWater) -> list[tuple[KnownWater, float]]:
        known = {w.id: w for w in self.case.waters}
        if water.shares is None or (water.id in known and known[water.id] is water):
            return [(water, 1.0)]
        return [(known[part], share) for part, share in water.shares.items()]

    def _dip(self, before_l: float) -> tuple[Message, ...]:
        """Where the stick will be wet to: by the millimetre where it moves by less than a centimetre."""
        reservoir = self.case.reservoir
        if self.projected.inside_l > reservoir.full_volume_l:
            return ()
        then, now = (litres_to_dip(reservoir, litres) for litres in (before_l, self.projected.inside_l))
        return (say("to-a-dip", cm=now) if abs(now - then) >= 1.0 else say("to-a-fine-dip", cm=now),)

    def _of_water(self, water: KnownWater) -> tuple[str, ...]:
        titrated = self.case.farm.source_of(water.id, TITRATION)
        strip = "; by strip, so the lower pad counts for acid: too much harms at once, too little is trimmed by reading"
        return (
            f"{water.name}: alkalinity {water.alkalinity_meq_l:.2f} meq/L within a factor of "
            f"{1 + 1.6 * water.doubt:.1f}{f', {titrated}' if titrated else ''}, EC {water.ec_ms_cm:.2f} mS/cm"
            f"{strip if water.by_strip else ''}",
        )


def _with_concentrate(projected: Projection, product: Concentrate, measured: Measured) -> Projection:
    return with_liquid(projected, concentrate_solution(product), measured.amount / 1000.0, 0.05, strong=True)


def _hanging_on_it(steps: list[Step]) -> Iterator[Step]:
    """The steps with what hangs on a doubted reading saying so: the first that changes anything, all acid and base."""
    first = next((step for step in steps if step.action in (*POURED, "drain_off")), None)
    for step in steps:
        hangs = step is first or step.action in ("acid", "base")
        yield replace(step, says=say("only-if-it-agrees", step=step.says)) if hangs and step.says else step


def _why_asked(trial: Trial) -> Message:
    if trial.fault == BUFFER:
        return say("jar-tells-buffer")
    fault = NAMES.get(trial.fault)
    return say("jar-before-was-odd") if fault is None else say("held-in-case-of", fault=fault)
