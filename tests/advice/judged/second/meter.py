"""A pH meter as it is: off, flat, noisy, and at times plainly wrong."""

from __future__ import annotations

import random
from dataclasses import dataclass

OUTLIER_SHARE = 0.01
_OUTLIER_PH = (0.3, 1.5)
STRIP_PH = 0.3
"""How far a strip is read wrong: half a step of usual ones. [-]"""


@dataclass
class PhMeter:
    """Shows `7 + slope (pH - 7) + offset`, some noise, and once in a hundred something else."""

    offset: float = 0.0
    slope: float = 1.0
    noise: float = 0.05
    hidden: float = 0.0
    """Off in the reservoir's water alone: a clogged junction, which no buffer shows. [-]"""
    stuck_at: float | None = None
    false_until_min: float = 0.0
    """Minutes from the start up to which `false_by` is added: a bubble, a probe not rinsed. [min]"""
    false_by: float = 0.0

    def shows(self, ph: float, rng: random.Random, minute: float = 0.0) -> float:
        """In the reservoir's water, some minutes after the start. [-]"""
        outlier = rng.random() < OUTLIER_SHARE
        wrong = rng.choice((-1.0, 1.0)) * rng.uniform(*_OUTLIER_PH) if outlier else 0.0
        false = self.false_by if minute < self.false_until_min else 0.0
        return self._shown(ph, rng, self.hidden + wrong + false)

    def in_buffer(self, ph: float, rng: random.Random) -> float:
        """In a buffer, where it stands still for longer. [-]"""
        return self._shown(ph, rng, 0.0, quiet=0.3)

    def calibrate(self, rng: random.Random) -> bool:
        """In two buffers; False where that cannot be done."""
        if self.stuck_at is not None:
            return False
        self.offset, self.slope = rng.gauss(0.0, 0.02), rng.uniform(0.97, 1.0)
        return True

    def _shown(self, ph: float, rng: random.Random, wrong: float, quiet: float = 1.0) -> float:
        noise = rng.gauss(0.0, self.noise * quiet)
        if self.stuck_at is not None:
            return round(self.stuck_at + 0.1 * noise, 2)
        return round(min(max(7.0 + self.slope * (ph - 7.0) + self.offset + wrong + noise, 0.0), 14.0), 2)


def strip_shows(ph: float, rng: random.Random) -> float:
    """A strip, to the half: it knows of no offset and no junction. [-]"""
    return round(2.0 * (ph + rng.uniform(-STRIP_PH, STRIP_PH))) / 2.0
