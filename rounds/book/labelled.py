"""Concentrates that were bought with a label: what is believed to be in them, and how far that is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rounds.farm.labels import Label
from rounds.farm.shelf import Concentrate
from rounds.science.untold import Composition, composition_of

DRUM_SD = 0.12
"""Spread of the logarithm of EC per mL where salts were weighed: drum and cylinder. Practice. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """How far a concentrate is known: spreads of logarithms."""

    ec_sd: float = DRUM_SD
    """Of EC per mL. [-]"""
    phosphate_sd: float = 0.0
    """Of phosphate per mL, beyond what a drum of salts is in doubt. [-]"""


def believed_of(product: Concentrate) -> Composition | None:
    """What is believed of a concentrate with a label; None where it has none.

    Raises
    ------
    BadInput, OutOfRange
        Where the label cannot be.
    """
    return None if product.label is None else composition_of(product.label.printed())


def doubt_of(product: Concentrate) -> Doubt:
    """How far a concentrate is known, before anything was seen of it."""
    believed = believed_of(product)
    if believed is None:
        return Doubt()
    return Doubt(ec_sd=math.hypot(DRUM_SD, believed.ec_sd), phosphate_sd=believed.sds.get("po4", 0.0))


def believed_lines(label: Label) -> tuple[str, ...]:
    """What is believed of a label in a millilitre, for the grower."""
    found = composition_of(label.printed())
    names = {"no3": "nitrate", "nh4": "ammonium", "po4": "phosphate", "k": "potassium", "ca": "calcium"}
    told = ", ".join(
        f"{names[ion]} {found.ranges[ion][0]:.2f} to {found.ranges[ion][1]:.2f}" for ion in names
        if found.ranges[ion][1] > 0.005
    )  # fmt: skip
    odd = "ammonium and urea are the widest doubt; urea shows no EC"
    return (
        f"by its label, believed per mL nine times in ten, in mmol: {told}",
        f"EC per mL within {1.645 * found.ec_sd:.0%}; {odd}",
    )
