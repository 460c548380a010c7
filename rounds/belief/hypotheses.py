"""What may be wrong with what was told: each fault by name, with how likely it is before anything was seen.

The priors are guesses from practice, no source. They matter: a fault that is there in one of 300 mornings must still be
held against when a dose could kill the crop, and one that is there in one of 10,000 would let a dose through. Each was
chosen so that of 200 simulated reservoirs with that fault at most one falls below pH 4.5, and hardly any healthy
grower is asked twice (`python -m tests.advice.judged` shows both).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Sort = Literal["sound", "bottle", "meter", "stuck", "water", "source", "weak"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hypothesis:
    """One account of how things are."""

    code: str
    sort: Sort
    """What it is about: a strong or wrong bottle, how the meter reads, a meter that does not move, the water that
    circulates, the water that is added, or a bottle of which less arrives than was thought: that holds no dose, it is
    only named."""
    prior: float
    """How likely it is before anything was seen. [-]"""
    strength: float = 1.0
    """The bottle's strength against its label; below 0 where acid and base have changed places. [-]"""
    circulating: float = 1.0
    """Share of the dipped water that the dose really mixes into. [-]"""
    of_water: float = 1.0
    """Alkalinity of the water that is added, against its analysis. [-]"""
    reads_high: float = 0.0
    """How much the meter shows above the true pH, though it passes its buffer. [-]"""

    @property
    def of_dose(self) -> float:
        """What each litre gets of a dose, against what was told. [-]"""
        return self.strength / self.circulating


SOUND = Hypothesis(code="sound", sort="sound", prior=1.0)
FAULTS = (
    Hypothesis(code="bottle-ten-times", sort="bottle", prior=0.003, strength=10.0),
    Hypothesis(code="bottle-three-times", sort="bottle", prior=0.005, strength=3.0),
    Hypothesis(code="bottles-swapped", sort="bottle", prior=0.003, strength=-1.0),
    Hypothesis(code="half-circulates", sort="water", prior=0.003, circulating=0.5),
    Hypothesis(code="meter-high", sort="meter", prior=0.005, reads_high=0.5),
    Hypothesis(code="meter-very-high", sort="meter", prior=0.002, reads_high=0.8),
    Hypothesis(code="meter-low", sort="meter", prior=0.005, reads_high=-0.5),
    Hypothesis(code="meter-stuck", sort="stuck", prior=0.003),
    Hypothesis(code="another-water", sort="source", prior=0.003, of_water=0.1),
    Hypothesis(code="bottle-tenth", sort="weak", prior=0.005, strength=0.1),
    Hypothesis(code="nothing-arrives", sort="weak", prior=0.01, strength=0.0),
)
