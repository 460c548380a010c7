"""What a truthful grower answers, each with its own error; questions nobody here can answer are left."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from tests.advice.judged.make import Given, Question
from tests.advice.judged.second.chemistry import added, speciated
from tests.advice.judged.second.faults import looks_right
from tests.advice.judged.second.meter import strip_shows

if TYPE_CHECKING:
    from tests.advice.judged.second.reservoir import Second

_SYRINGE = (0.05, 0.15)
"""How far a dose of a jar is measured wrong, one way or the other. [-]"""
_JAR_L = 1.0


def truthful(make: Second, question: Question) -> Given | None:
    """The answer, and the minutes it takes; None where it cannot be told."""
    known = ANSWERS.get(question.code)
    if known is None:
        return None
    minutes, answer = known
    given = answer(make, question)
    make.wait(minutes)
    return given


def _buffer(make: Second, question: Question) -> float:
    named = float(question.details.get("buffer", 7.0))
    warm = make.drawn.temperature_c
    true = named + 0.004 * (25.0 - warm) if abs(named - 7.0) < 0.5 else named
    return make.meter.in_buffer(true, make.rng)


def _jar(make: Second, question: Question) -> float | None:
    """A litre out of the tank with the dose that was planned for a litre, read with the usual meter."""
    product, ml = question.details.get("product"), question.details.get("ml_per_l")
    if product not in make.bottles or not isinstance(ml, int | float):
        return None
    error = make.rng.choice((-1.0, 1.0)) * make.rng.uniform(*_SYRINGE)
    poured_l = float(ml) / 1000.0 * (1.0 + error)
    water = question.details.get("of_water")
    liquid = make.circuit.tank.totals if water is None else make.litre_of(str(water))
    jar = added((liquid, _JAR_L), (make.litre_of(str(product)), poured_l))
    jar = {e: mmol / (_JAR_L + poured_l) for e, mmol in jar.items()}
    return make.meter.shows(speciated(jar, make.drawn.temperature_c).ph, make.rng, make.minute)


def _second(make: Second, _: Question) -> float:
    return make.second_meter.shows(make.ph_in_tank(), make.rng)


def _strip(make: Second, _: Question) -> float:
    return strip_shows(make.ph_in_tank(), make.rng)


def _again(make: Second, _: Question) -> float:
    return make.read("ph")


def _calibrated(make: Second, _: Question) -> bool:
    return make.meter.calibrate(make.rng)


def _label(make: Second, question: Question) -> float | None:
    bottle = {"acid": make.drawn.acid, "base": make.drawn.base}.get(str(question.details.get("product", "acid")))
    return None if bottle is None else bottle.percent


def _well(make: Second, _: Question) -> bool:
    return True


def _filled(make: Second, _: Question) -> str | None:
    """All of the CO2 of a fresh fill was in it when it was full."""
    return "still" if make.drawn.fresh else None


def _bottles(make: Second, _: Question) -> bool:
    return looks_right(make.story)


ANSWERS: dict[str, tuple[float, Callable[[Second, Question], Given | None]]] = {
    "buffer-dip": (3.0, _buffer),
    "calibrate": (10.0, _calibrated),
    "second-meter": (2.0, _second),
    "strip": (2.0, _strip),
    "read-again": (2.0, _again),
    "jar-test": (10.0, _jar),
    "filled-how": (0.0, _filled),
    "bottles": (3.0, _bottles),
    "label": (1.0, _label),
    "look": (3.0, _well),
    "roots": (3.0, _well),
    "leak": (3.0, _well),
    "pump": (1.0, _well),
}
"""By code: how long it takes, and what is answered. [min]"""
