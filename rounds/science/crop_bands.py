"""EC and pH that crops want in recirculating feed, each row with where it comes from and how far that is to be trusted.

A shared reservoir has one band, that of its fussiest plant: the lowest upper end of EC, and the pH that suits all.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Mark = Literal["published", "practice", "memory"]
USUAL_PH = (5.6, 6.2)
"""For all that is not known to differ: practice in recirculation. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CropBand:
    """What one crop wants at one stage."""

    crop: str
    ec: tuple[float, float]
    """[mS/cm at 25 degC]"""
    source: str
    mark: Mark
    young: bool = False
    """Whether it is of young plants."""
    ph: tuple[float, float] = USUAL_PH


def _row(
    crop: str, low: float, high: float, source: str, mark: Mark, *, young: bool = False,
    ph: tuple[float, float] = USUAL_PH,
) -> CropBand:  # fmt: skip
    return CropBand(crop=crop, ec=(low, high), source=source, mark=mark, young=young, ph=ph)


_OKLAHOMA = "Oklahoma State HLA-6442, table 2"
_HERBS = "practice; in trials 0.5 to 4.0 made no difference (Walters & Currey 2018; Currey et al. 2019)"
BANDS: tuple[CropBand, ...] = (
    _row("seedlings", 0.0, 0.5, "plain water, or so much until the first true leaf", "practice", young=True),
    _row("lettuce", 0.8, 1.2, "from the first true leaf on", "practice", young=True),
    _row("lettuce", 1.5, 1.8, "UF/IFAS AE610; Cornell CEA lettuce handbook", "published"),
    _row("strawberry", 0.7, 1.0, "Kubota, Univ. of Arizona and Ohio State: 1.0 or less, flushed when the root zone "
         "passes 1.2", "published", ph=(5.5, 6.0)),
    _row("basil", 1.2, 1.8, _HERBS, "practice"),
    _row("parsley", 1.2, 1.8, _HERBS, "practice"),
    _row("dill", 1.2, 1.8, _HERBS, "practice"),
    _row("coriander", 1.2, 1.8, _HERBS, "practice"),
    _row("chives", 1.2, 1.8, "as other herbs", "practice"),
    _row("spinach", 1.8, 2.3, _OKLAHOMA, "memory"),
    _row("pak choi", 1.5, 2.0, _OKLAHOMA, "memory"),
    _row("cucumber", 1.7, 2.0, _OKLAHOMA, "memory"),
    _row("tomato", 2.0, 4.0, _OKLAHOMA, "memory"),
    _row("pepper", 1.8, 2.8, "fruiting, in recirculation", "practice"),
    _row("bean", 1.0, 1.8, "its salt threshold is low: yield falls from 1.0 mS/cm of the soil's extract on (Maas & "
         "Hoffman 1977); HLA-6442 prints 2.0 to 4.0", "memory"),
)  # fmt: skip
"""Published: read in the source named. Practice: common practice of the trade. Memory: remembered, not looked up."""


def band_of(crop: str, *, young: bool = False) -> CropBand | None:
    """The row of a crop, by the word before a comma; None where the table has none.

    Examples
    --------
    >>> band_of("Lettuce, red").ec, band_of("kale")
    ((1.5, 1.8), None)
    """
    name = crop.partition(",")[0].strip().casefold()
    named = [row for row in BANDS if row.crop == name]
    return next((row for row in named if row.young is young), named[0] if named else None)


def fussiest(crops: Iterable[str], *, young: bool = False) -> CropBand | None:
    """Of the crops of one reservoir the one that bears least: the lowest upper end of EC.

    Examples
    --------
    >>> fussiest(["tomato", "strawberry", "kale"]).crop
    'strawberry'
    """
    rows = [row for crop in crops if (row := band_of(crop, young=young)) is not None]
    return min(rows, key=lambda row: row.ec[1], default=None)
