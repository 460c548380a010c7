"""The plan as it grows: every step with its amount, its cautions, its wait and where the reservoir stands after it."""

from __future__ import annotations

from dataclasses import replace

from rounds.advice import cautions as c
from rounds.advice.case import Case
from rounds.advice.gates import MIXING_TURNOVERS
from rounds.advice.planning_ph import PlannedDose
from rounds.advice.products import Bottle
from rounds.advice.projection import Projection, as_read, drained, with_dose, with_liquid, with_water
from rounds.book.actions import POURED, Action
from rounds.book.composition import KnownWater, concentrate_solution
from rounds.book.measures import Measured, MeasuringVessel, litres_near, vessel_for
from rounds.book.offer import Step
from rounds.farm.shelf import Acid, Concentrate
from rounds.farm.volumes import litres_to_dip

_LEAST_WAIT_MIN = 5.0
_POUR_ML_PER_MIN = 50.0
_ONLY_IF = "Only if the second reading agrees."


class StepPlan:
    """Steps in order, and the reservoir after the last of them."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.projected: Projection = as_read(case)
        self.steps: list[Step] = []
        self.explain: list[str] = []

    @property
    def mixing_min(self) -> float:
        """Minutes of three turnovers, as the reservoir stands now. [min]"""
        return max(_LEAST_WAIT_MIN, round(MIXING_TURNOVERS * self.projected.volume_l / self.case.reservoir.pump_l_min))

    def add(
        self, action: Action, text: str, *, why: str = "", product: str | None = None, amount: float = 0.0,
        unit: str = "", wait_min: float = 0.0, cautions: tuple[str, ...] = (), explain: tuple[str, ...] = (),
    ) -> None:  # fmt: skip
        """Put a step at the end."""
        self.steps.append(
            Step(
                action=action, product=product, amount=amount, unit=unit, wait_min=wait_min, cautions=cautions,
                text=text, why=why, after=self.projected.after(), explain=explain,
            )
        )  # fmt: skip

    def look_first(self, text: str, why: str, cautions: tuple[str, ...]) -> None:
        """Something to look at before all else."""
        after = as_read(self.case).after()
        self.steps.insert(0, Step(action="look", text=text, why=why, cautions=cautions, after=after))

    def look(self, text: str, why: str) -> None:
        """Something to look at first."""
        self.add("look", text, why=why)

    def buffer_dip(self) -> None:
        """A dip of the probe in buffer."""
        tolerance = self.case.farm.limits.buffer_tolerance_ph
        self.add(
            "buffer_dip", f"Dip the pH probe in the buffer of 7: it must show 7 within {tolerance:g}.",
            why="No buffer dip is on record today, and a probe that lies makes every dose wrong.",
        )  # fmt: skip

    def read_again(self, what: str, why: str) -> None:
        """A reading that must come before the next step."""
        self.add("read_again", f"Read {what} again before you go on.", why=why)

    def read_first(self, names: str, why: str, *, feed_waits: bool = False) -> None:
        """A doubted reading put before everything that is poured on it, which then says what it hangs on.

        A buffer dip that comes later comes before it: a probe is tried before it is asked again. With `feed_waits` A
        and B are left out until the second reading, and it is said.
        """
        now = as_read(self.case).after()
        waits = " A and B wait for it: if it agrees, enter it and correct again." if feed_waits else ""
        first = Step(
            action="read_again", text=f"Read {names} again before anything is poured.{waits}", why=why, after=now
        )
        dips = [replace(step, after=now) for step in self.steps if step.action == "buffer_dip" and "pH" in names]
        self.steps = [step for step in self.steps if not dips or step.action != "buffer_dip"]
        hanging = next((n for n, step in enumerate(self.steps) if step.action in (*POURED, "drain_off")), None)
        self.steps = [
            *dips[:1],
            first,
            *(
                replace(step, text=f"{step.text} {_ONLY_IF}")
                if n == hanging or step.action in ("acid", "base") else step
                for n, step in enumerate(self.steps)
            ),
        ]  # fmt: skip

    def circulate(self, why: str, turnovers: float = 1.0) -> None:
        """Let the pump mix."""
        minutes = max(_LEAST_WAIT_MIN, round(turnovers * self.projected.volume_l / self.case.reservoir.pump_l_min))
        self.add(
            "circulate", f"Let the pump run {minutes:.0f} minutes.", why=why, wait_min=minutes,
            explain=(
                f"wait = {turnovers:g} x {self.projected.volume_l:.0f} L / {self.case.reservoir.pump_l_min:g} L/min",
            ),
        )  # fmt: skip

    def drain_off(self, litres: float, why: str) -> None:
        """Take some out."""
        measured = litres_near(litres)
        before_l = self.projected.inside_l
        self.projected = drained(self.projected, measured.amount)
        to_dip = self._dip_text(before_l)
        self.add(
            "drain_off", f"Drain off {measured}{to_dip}.", why=why, amount=measured.amount, unit="L",
            cautions=(c.PLUG_BEFORE_DRAIN, c.WET_FLOOR),
        )  # fmt: skip

    def top_up(self, water: KnownWater, litres: float, why: str) -> None:
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
                "top_up", f"Add {measured} of {part.name}{self._dip_text(before_l)}.", why=why, product=part.id,
                amount=measured.amount, unit="L", cautions=(*hard, c.RINSE), explain=self._of_water(part),
            )  # fmt: skip

    def stand_with(self, a: Measured, b: Measured) -> Projection:
        """Where the reservoir would stand with so much of A and of B, without putting them into the plan."""
        projected = self.projected
        for product, measured in ((self.case.feed.a, a), (self.case.feed.b, b)):
            projected = _with_concentrate(projected, product, measured)
        return projected

    def concentrates(self, a: Measured, b: Measured, why: str, explain: tuple[str, ...]) -> None:
        """A, circulate, B, circulate: never together."""
        self.concentrate("concentrate_a", self.case.feed.a, a, why, explain)
        self.circulate("A must be thinned before B comes: calcium would fall out with phosphate and sulfate.")
        self.concentrate("concentrate_b", self.case.feed.b, b, why, ())

    def concentrate(
        self, action: Action, product: Concentrate, measured: Measured, why: str, explain: tuple[str, ...]
    ) -> None:
        """One of the two alone: where the other one is in the reservoir already."""
        self.projected = _with_concentrate(self.projected, product, measured)
        self.add(
            action, f"Pour {measured} of {product.name} ({self._vessel(measured)}) into the return.", why=why,
            product=product.id, amount=measured.amount, unit=measured.unit, cautions=c.for_concentrate(product),
            explain=explain,
        )  # fmt: skip

    def dose(
        self, bottle: Bottle, dose: PlannedDose, why: str, explain: tuple[str, ...], only_above: float | None = None
    ) -> None:
        """Acid or base; with `only_above` the pH that must show first."""
        acid = isinstance(bottle.product, Acid)
        self.projected = with_dose(self.projected, bottle.agent, dose.measured.amount, self.mixing_min / 60.0)
        cautions = c.for_acid(bottle.product) if isinstance(bottle.product, Acid) else c.for_base(bottle.product)
        minutes = max(2.0, dose.measured.amount / _POUR_ML_PER_MIN)
        self.add(
            "acid" if acid else "base",
            f"Pour {dose.measured} of {bottle.product.name} ({self._vessel(dose.measured)}), stirred into a bucket "
            f"of the reservoir's water, over {minutes:.0f} minutes into the return."
            + ("" if only_above is None else f" Only if the pH now shows {only_above:.1f} or more; else none of it."),
            why=why, product=bottle.product.id, amount=dose.measured.amount, unit=dose.measured.unit,
            wait_min=self.mixing_min, cautions=cautions, explain=explain,
        )  # fmt: skip

    def recheck(self, what: str, why: str) -> None:
        """The reading that tests the correction."""
        minutes = self.mixing_min
        self.add("recheck", f"Read {what} again in {minutes:.0f} minutes.", why=why, wait_min=0.0)

    def _vessel(self, measured: Measured) -> MeasuringVessel:
        return vessel_for(measured.amount, self.case.farm.limits.vessels_ml)

    def _parts(self, water: KnownWater) -> list[tuple[KnownWater, float]]:
        known = {w.id: w for w in self.case.waters}
        if water.shares is None or (water.id in known and known[water.id] is water):
            return [(water, 1.0)]
        return [(known[part], share) for part, share in water.shares.items()]

    def _dip_text(self, before_l: float) -> str:
        """Where the stick will be wet to: by the millimetre where it moves by less than a centimetre."""
        reservoir = self.case.reservoir
        if self.projected.inside_l > reservoir.full_volume_l:
            return ""
        then, now = (litres_to_dip(reservoir, litres) for litres in (before_l, self.projected.inside_l))
        return f", to a dip of {now:.{0 if abs(now - then) >= 1.0 else 1}f} cm"

    def _of_water(self, water: KnownWater) -> tuple[str, ...]:
        return (
            f"{water.name}: alkalinity {water.alkalinity_meq_l:.2f} meq/L within a factor of "
            f"{1 + 1.6 * water.doubt:.1f}, EC {water.ec_ms_cm:.2f} mS/cm",
        )


def _with_concentrate(projected: Projection, product: Concentrate, measured: Measured) -> Projection:
    return with_liquid(projected, concentrate_solution(product), measured.amount / 1000.0, 0.05, strong=True)
