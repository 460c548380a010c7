"""A farm whose nutrient is told by its label alone, in A and B; every label is invented."""

from __future__ import annotations

from typing import Any

import msgspec
from light_farm import ACID, BASE, CONCENTRATES, COUNTED, a_farm

from rounds.farm.farm import Farm
from rounds.farm.labels import Label
from rounds.farm.shelf import Concentrate


def bottle(part: str, npk: tuple[float, float, float], **told: Any) -> Concentrate:
    return Concentrate(
        id=part.lower(), name=f"Bottle {part}", part=part, amount=20, unit="L", counted_on=COUNTED,
        label=Label(npk=npk, **told),
    )  # fmt: skip


def label_of(product: Concentrate) -> tuple[float, float, float]:
    """N, P2O5 and K2O in grams in 100 mL of a drum of known salts, as its label would print them."""
    from rounds.science.salts import elements_mg_l, solution_of_salts

    mg = elements_mg_l(solution_of_salts(product.salts_g_l))
    return tuple(round(mg[e] * f / 1e4, 2) for e, f in (("N", 1.0), ("P", 2.2914), ("K", 1.2046)))  # type: ignore[return-value]


def labelled_farm(**changed: Any) -> Farm:
    """The light farm with its two drums told as labels, one for one."""
    told = {"by": "volume", "p_and_k": "oxides"}
    bottles = tuple(bottle(each.part, label_of(each), **told) for each in CONCENTRATES)
    return a_farm(**{"products": (*bottles, ACID, BASE), **changed})


def with_label(farm: Farm, part: str, **label: Any) -> Farm:
    import dataclasses

    product = msgspec.structs.replace(farm.shelf[part], label=Label(**label))
    return dataclasses.replace(farm, shelf={**farm.shelf, part: product})
