"""What of a liquid matters for the pH."""

from __future__ import annotations

from dataclasses import dataclass

from rounds.science.solution import Solution


@dataclass(frozen=True, slots=True)
class Parcel:
    """What a dose or a water carries, per litre of the reservoir or of itself."""

    alkalinity_meq_l: float = 0.0
    phosphate: float = 0.0
    """[mmol/L]"""
    carbonate: float = 0.0
    """[mmol/L]"""

    def times(self, factor: float) -> Parcel:
        """The parcel in another amount."""
        return Parcel(self.alkalinity_meq_l * factor, self.phosphate * factor, self.carbonate * factor)


def parcel_of(liquid: Solution) -> Parcel:
    """What of a liquid matters for the pH."""
    return Parcel(liquid.alkalinity_meq_l, liquid.po4, liquid.carbonate)
