"""What is worth saying of a farm's files though nothing in them is mistaken: `rounds check` adds it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rounds.farm.farm import Farm, Unread
from rounds.farm.model import Water
from rounds.farm.shelf import Acid, Concentrate
from rounds.farm.stations import Reservoir
from rounds.science.crop_bands import fussiest
from rounds.science.water_told import SODIUM_CLOSED_MG_L, ToldWater, sodium_mg_l

RESTRICTED_PERCENT = {"nitric": 3.0, "sulfuric": 15.0}
"""Above this many percent by mass a private buyer may not have an acid in the EU: regulation (EU) 2019/1148, Annex I,
from memory. [%]"""
_MORE_ALKALINE_MEQ_L = 0.5
_BEYOND_MS_CM = 0.25
"""So far beyond the table a band may go: tables differ by as much. Practice. [mS/cm]"""


def remarks_on(farm: Farm) -> tuple[str, ...]:
    """Sentences about waters, acids and nutrients that are sound as they stand, and worth knowing."""
    waters = [said for water in farm.waters.values() if not water.blend for said in _of_water(water)]
    acids = _of_acids([product for product in farm.shelf.values() if isinstance(product, Acid)])
    nutrients = [said for each in farm.shelf.values() if isinstance(each, Concentrate) for said in _of_nutrient(each)]
    return (*waters, *acids, *nutrients, *_of_bands(farm))


def _of_bands(farm: Farm) -> Iterator[str]:
    """A reservoir whose EC band goes beyond what its fussiest plant bears."""
    if isinstance(farm.feeds, Unread):
        return
    for reservoir in farm.stations.values():
        if not isinstance(reservoir, Reservoir):
            continue
        stage = farm.stage_of(reservoir)
        row = fussiest((channel.crop for channel in farm.channels_of(reservoir.id)), young=stage.young)
        if row is not None and stage.ec[1] > row.ec[1] + _BEYOND_MS_CM:
            yield (
                f"{reservoir.name}: its EC goes up to {stage.ec[1]:g} mS/cm, and {row.crop} wants {row.ec[1]:g} at "
                f"most ({row.mark}: {row.source}). A shared reservoir has one band, that of its fussiest plant."
            )


def _of_water(water: Water) -> Iterator[str]:
    told = water.told()
    if water.alkalinity is not None and water.alkalinity.by == "strip":
        lowest = water.alkalinity.test().lowest_meq_l
        yield (
            f"{water.name}: a strip is a pad off either way. For acid the lower pad counts, {lowest:.1f} meq/L: too "
            "much acid harms at once, and what is too little is added by reading. Drops or a titration tell it better."
        )
    if not water.is_analysed and told.alkalinity is None:
        yield (
            f"{water.name}: its alkalinity was not read, so the first acid is small. Drops for carbonate hardness tell "
            "it: one drop is one degree."
        )
    yield from _of_softener(water, told)


def _of_softener(water: Water, told: ToldWater) -> Iterator[str]:
    hardness = None if told.hardness is None else told.hardness.meq_l
    alkalinity = None if told.alkalinity is None else told.alkalinity.meq_l
    softened = hardness is not None and alkalinity is not None and alkalinity > hardness + _MORE_ALKALINE_MEQ_L
    if softened and not water.softener:
        yield (
            f"{water.name}: more alkalinity than hardness. Is there a softener in this line? If so, enter "
            "softener = true; a well with sodium bicarbonate is the other way to it."
        )
    sodium = sodium_mg_l(told) if softened or water.softener else 0.0
    if sodium > SODIUM_CLOSED_MG_L:
        yield (
            f"{water.name}: about {sodium:.0f} mg/L of sodium come with it, which no plant takes up: in a closed "
            f"system more than {SODIUM_CLOSED_MG_L:.0f} heap up. Change out sooner, or draw water before the softener."
        )


def _of_acids(acids: Sequence[Acid]) -> Iterator[str]:
    for agent, most in RESTRICTED_PERCENT.items():
        names = [a.name for a in acids if a.agent == agent and a.percent is not None and a.percent > most]
        if names:
            yield (
                f"{' and '.join(names)}: above {most:g} % a private buyer may not have {agent} acid in the EU "
                "(regulation (EU) 2019/1148); professional users may. Check locally. Phosphoric acid is free to buy, "
                "and its phosphorus is counted."
            )


def _of_nutrient(product: Concentrate) -> Iterator[str]:
    label = product.label
    if label is None:
        if not product.salts_g_l:
            yield (
                f"{product.name}: nothing is known of what is in it, so nothing is worked out for it. Enter its label, "
                "or try it in a bucket: ten litres of your water, a syringe of it, stir, the EC before and after."
            )
        return
    if label.npk is not None and label.p_and_k is None and sum(label.npk[1:]) > 0.0:
        yield (
            f"{product.name}: are P and K of its label P2O5 and K2O, or the elements? Both are held possible: "
            'p_and_k = "oxides" or "elements" says it. Most countries print oxides.'
        )
    if label.by is None and label.stock_g_l is None:
        yield (
            f"{product.name}: is its label by weight or by volume? Both are held possible: by says it, and for weight "
            "density_kg_l; weigh 100 mL on the kitchen scale, grams divided by 100."
        )
    if label.stock_g_l is not None:
        yield (
            f"{product.name}: a powder. Dissolve {label.stock_g_l:g} g to a litre of stock, which is what is poured; a "
            f"gram to the litre on its label is {1000.0 / label.stock_g_l:.3g} mL of that. Each powder has a stock of "
            "its own: they never meet undissolved."
        )
    if label.organic or label.buffered:
        yield (
            f"{product.name}: its EC says nothing of its strength, and acid waits 24 hours after it. Feed by its label."
        )
