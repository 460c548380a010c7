"""The second make: one reservoir whose truth is PHREEQC, a transfer coefficient, two waters that mix with a lag."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from tests.advice.judged.make import Given, Line, Question, Truth, Where
from tests.advice.judged.second import answers
from tests.advice.judged.second.begun import Begun, begun
from tests.advice.judged.second.bodies import Body, Circuit
from tests.advice.judged.second.chemistry import Totals, ec25, speciated
from tests.advice.judged.second.drawn import BAND, SALTS_A, SALTS_B, Drawn, concentrate, drawn
from tests.advice.judged.second.faults import bottles_of, faulted, meter_of, second_meter_of
from tests.advice.judged.second.files import files_of
from tests.advice.judged.second.plants import Plants, days_lived
from tests.advice.judged.stories import named

MORNING = datetime(2026, 6, 10, 7, 0, tzinfo=UTC)
DEAD_FLOW = 0.01
"""What a dead corner exchanges, of what the pump moves. [-]"""
_POURED_ERROR, _WATER_ERROR, _DIP_ERROR_CM, _EC_NOISE = 0.01, 0.02, 0.25, 0.015
"""Of a syringe or cylinder, of cans, of a stick, of the EC meter. [-, -, cm, -]"""


class Second:
    """A reservoir of the second make."""

    reservoir_id = "r"
    band = BAND

    def __init__(self, seed: int, story: str) -> None:
        self.seed, self.story = seed, named(story)
        self.drawn: Drawn = faulted(drawn(seed), story)
        d = self.drawn
        self.rng = d.rng
        self.begun: Begun = begun(d, MORNING)
        self.pump_l_min = d.pump_told
        self.minute = 0.0
        self.water: Totals = d.true_water.totals
        self.bottles = bottles_of(d, story)
        self.feed = {"a": concentrate(SALTS_A), "b": concentrate(SALTS_B)}
        self.plants = Plants(d.alkalinity_per_day, d.eaten, d.drunk)
        self.circuit = _circuit(d, self.begun.totals)
        self.lowest, self.highest = 99.0, -99.0
        if self.begun.aged_min > 0.0:
            self._live(self.begun.aged_min)
        self.minute, self.lowest, self.highest = 0.0, 99.0, -99.0
        self.ph = speciated(self.circuit.mixed(), d.temperature_c).ph
        self._keep(self.ph)
        self.meter = meter_of(d, story, seed, self.ph)
        self.second_meter = second_meter_of(self.rng)
        self.ec_band = _ec_band(d, ec25(self.circuit.mixed()))

    @property
    def now(self) -> datetime:
        return MORNING + timedelta(minutes=self.minute)

    def farm_files(self) -> dict[str, str]:
        return files_of(self.drawn, self.ec_band, ec25(self.drawn.told_water.totals), MORNING)

    def record(self) -> Sequence[Line]:
        return self.begun.record

    def read(self, what: str) -> float:
        tank, rng = self.circuit.tank, self.rng
        if what == "ph":
            return self.meter.shows(self.ph_in_tank(), rng, self.minute)
        if what == "ec":
            return round(ec25(tank.totals) * (1.0 + rng.gauss(0.0, _EC_NOISE)), 2)
        if what == "t":
            return round(self.drawn.temperature_c + rng.gauss(0.0, 0.2), 1)
        if what == "dip":
            return round(max(self.dip_cm() + rng.gauss(0.0, _DIP_ERROR_CM), 0.0), 1)
        raise ValueError(f"there is no instrument for {what!r}")

    def ph_in_tank(self) -> float:
        """Where the probe hangs."""
        return speciated(self.circuit.tank.totals, self.drawn.temperature_c).ph

    def dip_cm(self) -> float:
        """How far the stick is wet, dead corner or not."""
        dead = 0.0 if self.circuit.dead is None else self.circuit.dead.litres
        return 10.0 * (self.circuit.tank.litres + dead) / (self.drawn.area_dm2_told * self.drawn.area_times)

    def pour(self, product: str, litres: float, where: Where) -> None:
        error = _WATER_ERROR if product == "tap" else _POURED_ERROR
        if where == "instead":
            self._renew(product, litres)
            return
        self.put_in(product, litres * (1.0 + self.rng.gauss(0.0, error)))

    def put_in(self, product: str, litres: float) -> None:
        """Exactly so much. [L]"""
        self.circuit.pour(litres, self.litre_of(product))
        self._look()

    def litre_of(self, product: str) -> Totals:
        """What is really in a litre of a product or water. [mmol/L]"""
        if product == "tap":
            return self.water
        if product in self.feed:
            return {e: self.drawn.feed_times * mmol for e, mmol in self.feed[product].items()}
        return self.bottles[product].litre

    def drain(self, litres: float) -> None:
        lost = litres * (1.0 + self.rng.gauss(0.0, _WATER_ERROR))
        self.circuit.tank.lose(min(lost, 0.95 * self.circuit.tank.litres))

    def wait(self, minutes: float) -> None:
        self._live(minutes)

    def answer(self, question: Question) -> Given | None:
        return answers.truthful(self, question)

    def truth(self) -> Truth:
        return Truth(ph=self.ph, ec_ms_cm=ec25(self.circuit.mixed()), lowest_ph=self.lowest, highest_ph=self.highest)

    def oracle_morning(self) -> bool:
        from tests.advice.judged.second.oracle import morning

        return morning(self)

    def _renew(self, product: str, litres: float) -> None:
        """All that was there is gone, a dead corner too."""
        d, c = self.drawn, self.circuit
        c.dead = None
        c.tank.litres = max(litres - d.channels_l_told, 0.1 * litres) * d.area_times
        for body in (c.tank, c.channels):
            body.set_totals(self.litre_of(product))
        c.apart = 0.0
        self._look()

    def _live(self, minutes: float) -> None:
        left = minutes
        while left > 1e-9:
            step = min(left, self.circuit.step_min)
            self._plants(step)
            self._keep(self.circuit.advance(step))
            self.minute += step
            left -= step
        self._look()

    def _plants(self, minutes: float) -> None:
        hour = (MORNING.hour + self.minute / 60.0) % 24.0
        days, circuit = days_lived(hour, minutes / 60.0), self.circuit
        drunk = circuit.litres * self.plants.drunk_per_day * days
        for body in (circuit.tank, circuit.channels):
            body.set_totals(self.plants.eat(body.totals, days))
        circuit.tank.litres = max(circuit.tank.litres - drunk, 0.05 * circuit.tank.litres)

    def _look(self) -> None:
        self.ph = speciated(self.circuit.mixed(), self.drawn.temperature_c).ph
        self._keep(self.ph)

    def _keep(self, ph: float) -> None:
        self.lowest, self.highest = min(self.lowest, ph), max(self.highest, ph)


def _circuit(d: Drawn, totals: Totals) -> Circuit:
    whole = d.working_l_told * d.area_times * (1.0 - d.missing)
    depth_cm = 10.0 * whole / (d.area_dm2_told * d.area_times)
    tank = Body(whole * (1.0 - d.dead_share), {}, d.tank_cm_h / depth_cm)
    dead = Body(whole * d.dead_share, {}, tank.co2_per_h)
    channels = Body(d.channels_l_told * d.channels_times, {}, d.channels_cm_h / 2.0)
    for body in (tank, channels, dead):
        body.set_totals(totals)
    return Circuit(
        tank=tank, channels=channels, l_per_min=d.exchange_l_min, temperature_c=d.temperature_c, rest_atm=d.rest_atm,
        dead=dead if d.dead_share > 0.0 else None, dead_l_per_min=DEAD_FLOW * d.exchange_l_min,
    )  # fmt: skip


def _ec_band(d: Drawn, ec: float) -> tuple[float, float]:
    """A band of 0.6 that the conductivity is in, or off by what was drawn. [mS/cm]"""
    low = ec - d.ec_off if d.ec_off < 0.0 else ec - d.ec_off - 0.6 if d.ec_off > 0.0 else ec - 0.3
    low = max(round(low, 2), 0.3)
    return low, round(low + 0.6, 2)
