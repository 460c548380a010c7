"""A jar test: a litre of the reservoir's own water with the dose per litre, read after a minute."""

from __future__ import annotations

import math

from rounds.belief import state as b
from rounds.belief.curve import HIGHEST_PH, LOWEST_PH, Curve
from rounds.belief.gaussian import Gaussian, of_cloud
from rounds.book.parcel import Parcel

JAR_SD = 0.12
"""Error of what is in the jar: the syringe, the litre, the bottle's own strength. Common practice. [-]"""
LESS_BUFFERED = (0.0, 0.6, 0.6, 0.0, 0.0, 0.0, 0.0)
"""Variances by which phosphate and CO2 are loosened where a jar is not explained: the water may hold less of both. What
a jar shows is what the reservoir will do, whatever the reason."""
_ARRIVES = 7
"""Place of the jar's own error behind the seven numbers of the belief."""


def after_jar(
    belief: Gaussian, curve: Curve, parcel: Parcel, shown_ph: float, meter_sd: float, points: int = b.POINTS
) -> tuple[Gaussian, float, float]:
    """What is believed of the reservoir once a jar of it was read.

    How much of a dose reaches the reservoir (`ARRIVING`) has no part in it: no volume is dipped for a jar.

    Parameters
    ----------
    parcel : Parcel
        What the agent brings to each litre of the jar, by its label.
    shown_ph, meter_sd : float
        What the meter shows in the jar, and its error. [-]

    Returns
    -------
    (Gaussian, float, float)
        The belief, and the pH that was expected in the jar with its spread, the meter's error counted.
    """
    both = []
    for point in _with_own_error(belief).cloud(points):
        times = math.exp(point.pop())
        both.append([*point, _ph_of(point, curve, parcel.times(times))])
    joint = of_cloud(both)
    seen = joint.seen(_ARRIVES, within_curve(shown_ph), meter_sd)
    kept = Gaussian(seen.mean[:_ARRIVES], tuple(row[:_ARRIVES] for row in seen.covariance[:_ARRIVES]))
    return kept, joint.mean[_ARRIVES], math.hypot(joint.sd(_ARRIVES), meter_sd)


def overshot(parcel: Parcel, shown_ph: float, expected_ph: float) -> bool:
    """Whether a jar went further than expected the way that its agent moves it."""
    return (within_curve(shown_ph) - expected_ph) * parcel.alkalinity_meq_l > 0.0


def within_curve(ph: float) -> float:
    """A pH as far as the titration curve reaches: beyond it nothing is told apart. [-]"""
    return min(max(ph, LOWEST_PH), HIGHEST_PH)


def _with_own_error(belief: Gaussian) -> Gaussian:
    rows = [*((*row, 0.0) for row in belief.covariance), (*(0.0 for _ in belief.mean), JAR_SD * JAR_SD)]
    return Gaussian((*belief.mean, 0.0), tuple(rows))


def _ph_of(point: list[float], curve: Curve, parcel: Parcel) -> float:
    """The pH of the jar, its CO2 still in. [-]"""
    ph = min(max(point[b.PH], 3.2), 9.6)
    per_p, per_c, bare, held = curve.parts(ph)
    phosphate, carbonate = math.exp(point[b.PHOSPHATE]), math.exp(point[b.PRESSURE]) * held
    alkalinity = phosphate * per_p + carbonate * per_c + bare + parcel.alkalinity_meq_l
    return curve.ph_closed(
        alkalinity, max(phosphate + parcel.phosphate, 1e-3), max(carbonate + parcel.carbonate, 1e-4), ph
    )
