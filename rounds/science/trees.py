"""Trees: when to pick, how much to water, how warm the season was."""

from __future__ import annotations

from collections.abc import Sequence

from rounds.errors import BadInput
from rounds.science.ranges import within


def maturity_index(counts: Sequence[int]) -> float:
    """Ripeness of olives from a sample sorted by colour.

    Parameters
    ----------
    counts : sequence of int
        Fruit in class 0 (deep green) to 7 (black through to the stone), eight counts; usually 100 fruit. [-]

    Returns
    -------
    float
        Index, 0-7. [-]

    Raises
    ------
    BadInput
        Where there are not eight counts, one is negative, or there is no fruit.

    Examples
    --------
    >>> maturity_index([0, 10, 20, 40, 20, 10, 0, 0])
    3.0

    References
    ----------
    International Olive Council method: sum of class x count over the number of fruit.
    """
    if len(counts) != 8:
        raise BadInput(
            f"A sample sorted into {len(counts)} classes cannot be judged.", "Expected 8 counts, class 0 to 7."
        )
    for count in counts:
        within(count, 0, 100_000, "A count of fruit", "")
    if not sum(counts) > 0:
        raise BadInput("There is no fruit in the sample.", "Expected about 100.")
    return sum(grade * count for grade, count in enumerate(counts)) / sum(counts)


def irrigation_per_tree_l_d(
    eto_mm_d: float, crop_coefficient: float, spacing_m2: float, cover: float = 1.0, efficiency: float = 0.9
) -> float:
    """Water for one tree and day, before rain is taken off. [L/d]

    Parameters
    ----------
    eto_mm_d : float
        Reference evapotranspiration, 0-20. [mm/d]
    crop_coefficient : float
        Kc, 0.1-1.5; olive 0.65-0.70 at 40-60 % cover (FAO-56, table 12). [-]
    spacing_m2 : float
        Ground per tree, 0.1-500. [m2]
    cover : float
        Share of the ground in shade at noon, 0-1; below one half the need is less: min(1, 2 cover). [-]
    efficiency : float
        Share of the water that reaches the roots, 0.3-1; drip about 0.9. [-]

    Examples
    --------
    >>> round(irrigation_per_tree_l_d(5.0, 0.65, 30.0, cover=0.5), 1)
    108.3

    References
    ----------
    ETo x Kc x area / efficiency; the factor for young rows is common practice.
    """
    within(eto_mm_d, 0.0, 20.0, "An evapotranspiration", "mm/d")
    within(crop_coefficient, 0.1, 1.5, "A crop coefficient", "")
    within(spacing_m2, 0.1, 500.0, "A spacing", "m2")
    young = min(1.0, 2.0 * within(cover, 0.0, 1.0, "A cover", ""))
    return eto_mm_d * crop_coefficient * spacing_m2 * young / within(efficiency, 0.3, 1.0, "An efficiency", "")


def degree_days(warmest: float, coldest: float, base: float, ceiling: float) -> float:
    """Warmth of one day above a base, with both temperatures held between base and ceiling.

    Parameters
    ----------
    warmest, coldest : float
        The day's temperatures, -60 to 140, in the unit of the base. [degC or degF]
    base, ceiling : float
        Where growth begins and gains no more. [degC or degF]

    Returns
    -------
    float
        Degree days, 0 or more, in that unit.

    Examples
    --------
    >>> degree_days(90.0, 65.0, 50.0, 86.0)
    25.5

    References
    ----------
    The 86/50 degF method of extension services.
    """
    within(warmest, -60.0, 140.0, "A day's highest temperature", "degrees")
    within(coldest, -60.0, warmest, "A day's lowest temperature", "degrees")
    within(base, -60.0, within(ceiling, -60.0, 140.0, "A ceiling", "degrees"), "A base", "degrees")
    held = [max(base, min(ceiling, t)) for t in (warmest, coldest)]
    return sum(held) / 2.0 - base
