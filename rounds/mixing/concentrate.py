"""The weighing list for concentrates A and B of a nutrient feed, with what is in the store and whether it dissolves."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress

from rounds.book.composition import feed_known, unknown_feed
from rounds.errors import NotFound, OutOfRange, Refused
from rounds.farm.farm import Farm
from rounds.farm.feeds import Feed
from rounds.farm.shelf import Concentrate, SaltProduct
from rounds.mixing.sheet import MixSheet, MixStep
from rounds.science.salts import too_much_to_dissolve
from rounds.science.saturation import would_throw_down

LEAST_WEIGHED_G = 1.0
"""The least a farm's scale weighs well: it shows 0.1 g at best. Common practice. [g]"""
MOTHER_G_L = 2.0
"""The least that is weighed for a litre of mother solution. [g/L]"""
NEAR_THE_EDGE = 0.8
"""Salts that share an ion dissolve less than each alone: warn from this share of solubility. Common practice. [-]"""
_SOLUTION_TEMPERATURE_C = 15.0
_MOST_L = 1000.0
_IRON = "iron chelate"
CAUTIONS = (
    "Never A and B in one vessel undiluted: calcium falls out with phosphate and sulfate. Two scoops, two buckets.",
    "Nitrates feed a fire: no straw, sawdust or fuel near them, and no smoking.",
    "Gloves and goggles; no dust: pour low. Shut bags and drums out of reach of children and animals.",
    "Labels and local codes come first.",
)


def concentrate_sheets(farm: Farm, feed_id: str, litres: float, stock: Mapping[str, float]) -> tuple[MixSheet, ...]:
    """The weighing lists of the parts of a feed.

    Parameters
    ----------
    feed_id : str
        Id of a nutrient feed.
    litres : float
        Of each concentrate, above 0 and up to 1000. [L]
    stock : mapping
        Amount of every product now, each in its unit of the shelf.

    Raises
    ------
    NotFound
        Where there is no such feed.
    OutOfRange
        For litres that cannot be.
    BadInput
        Where a concentrate is missing from the shelf or holds a salt nobody knows.
    Refused
        Where nothing is known of what is in one, or it was bought ready.
    """
    feed = feed_named(farm, feed_id)
    if not 0.0 < litres <= _MOST_L:
        raise OutOfRange(f"{litres:g} L of concentrate cannot be made.", f"Expected above 0 and up to {_MOST_L:g} L.")
    known = feed_known(farm, feed)
    if known.unknown:
        raise unknown_feed(known.unknown)
    bought = [part.name for part in known.products if part.label is not None]
    if bought:
        raise Refused(
            f"{' and '.join(bought)} {'is' if len(bought) == 1 else 'are'} bought ready, with a label.",
            "There is nothing to weigh: pour from the bottle, or make the powder's stock by its label.",
        )
    return tuple(_sheet(farm, feed, part, litres, stock) for part in known.products)


def feed_named(farm: Farm, feed_id: str) -> Feed:
    """A feed by its id.

    Raises
    ------
    NotFound
        With the ids there are.
    FaultyFiles
        Where it is there, with a mistake.
    """
    with suppress(KeyError):
        return farm.feeds[feed_id]
    raise NotFound(f"There is no nutrient feed “{feed_id[:40]}”.", f"There are: {', '.join(farm.feeds) or 'none'}.")


def _sheet(farm: Farm, feed: Feed, product: Concentrate, litres: float, stock: Mapping[str, float]) -> MixSheet:
    weighed = {salt: grams * litres for salt, grams in product.salts_g_l.items()}
    per_l = feed.ml_per_l_of(product.part) or 0.0
    return MixSheet(
        kind="concentrate",
        title=f"Concentrate {product.part} of {feed.name}: {litres:g} L ({product.name})",
        cautions=CAUTIONS,
        steps=_steps(farm, product, weighed, litres),
        label=(
            f"CONCENTRATE {product.part} · {product.name}",
            f"{per_l:g} mL to a litre at full strength; never undiluted with {'B' if product.part == 'A' else 'A'}",
            "Made on ______  by ______   Keep dark, cool, shut; shake before use.",
        ),
        notes=(*_missing(farm, weighed, stock), *_dissolving(product), *_standing(product)),
        figures={f"{salt}_g": grams for salt, grams in weighed.items()} | {"litres_l": litres},
    )


def _steps(farm: Farm, product: Concentrate, weighed: Mapping[str, float], litres: float) -> tuple[MixStep, ...]:
    steps = [
        MixStep(text=f"Fill {litres * 0.8:.1f} L of clean water, warm to the hand, best rain water, into a clean drum.",
                what="water", amount=litres * 0.8, unit="L")
    ]  # fmt: skip
    for salt, grams in sorted(weighed.items(), key=lambda pair: -pair[1]):
        bag = _bag(farm, salt)
        where = f" ({bag.name}{f', {bag.place}' if bag.place else ''})" if bag else ""
        text = f"Weigh {mass_text(grams)} of {salt.replace('_', ' ')}{where}; stir until it is clear."
        text = text if grams >= LEAST_WEIGHED_G else mother_text(salt, grams, where)
        steps.append(MixStep(text=text, what=salt, amount=grams, unit="g"))
    if product.iron_mg_l > 0.0:
        iron = product.iron_mg_l * litres / 1000.0
        steps.append(
            MixStep(
                text=f"Iron chelate with {mass_text(iron)} of iron: divide by the iron on its label, such as "
                f"{iron / 0.06:.1f} g of a 6 % chelate. Last, once it is cold.", what=_IRON, amount=iron, unit="g",
            )
        )  # fmt: skip
    steps.append(MixStep(text=f"Fill up to {litres:g} L, stir, label, enter it on the shelf.", what="water"))
    return tuple(steps)


def mother_text(salt: str, grams: float, where: str = "") -> str:
    """How a salt too little for a farm's scale is measured: a litre of mother solution, of which a measure is poured.

    Examples
    --------
    >>> mother_text("copper_sulfate", 0.05)[:71]
    'Copper sulfate, 0.050 g, is too little to weigh: dissolve 5.00 g in 1 L'
    """
    times = next((times for times in (10.0, 100.0) if grams * times >= MOTHER_G_L), 1000.0)
    name, part_ml = salt.replace("_", " "), 1000.0 / times
    return (
        f"{name.capitalize()}{where}, {mass_text(grams)}, is too little to weigh: "
        f"dissolve {grams * times:.2f} g in 1 L of clean water as mother solution ({times:g} times), "
        f"and stir in {part_ml:g} mL of it. Label it, keep it dark."
    )


def mass_text(grams: float) -> str:
    """A mass as a scale shows it.

    Examples
    --------
    >>> mass_text(1620), mass_text(30.04), mass_text(0.11)
    ('1.620 kg', '30.0 g', '0.110 g')
    """
    if grams >= 1000.0:
        return f"{grams / 1000.0:.3f} kg"
    return f"{grams:.1f} g" if grams >= 5.0 else f"{grams:.3f} g"


def _bag(farm: Farm, salt: str) -> SaltProduct | None:
    return next((p for p in farm.shelf.values() if isinstance(p, SaltProduct) and p.salt == salt), None)


def _missing(farm: Farm, weighed: Mapping[str, float], stock: Mapping[str, float]) -> list[str]:
    said = []
    for salt, grams in weighed.items():
        bags = [p for p in farm.shelf.values() if isinstance(p, SaltProduct) and p.salt == salt]
        there = sum(stock.get(p.id, 0.0) * (1000.0 if p.unit == "kg" else 1.0) for p in bags)
        if not bags:
            said.append(f"{salt.replace('_', ' ')} is not on the shelf: check that it is there.")
        elif there < grams:
            goes = there / grams
            said.append(f"{bags[0].name}: {mass_text(there)} are left, which goes for {goes:.0%} of this.")
    return said


def _dissolving(product: Concentrate) -> list[str]:
    shares = too_much_to_dissolve({salt: g / NEAR_THE_EDGE for salt, g in product.salts_g_l.items()})
    return [
        f"{salt.replace('_', ' ')} is at {share * NEAR_THE_EDGE:.0%} of what cold water takes: "
        + (
            "it will not all dissolve; make it weaker."
            if share * NEAR_THE_EDGE > 1.0
            else "warm water, and no frost later."
        )
        for salt, share in shares.items()
    ]


def _standing(product: Concentrate) -> list[str]:
    from rounds.book.composition import concentrate_solution

    falls = would_throw_down(concentrate_solution(product), _SOLUTION_TEMPERATURE_C, 5.0)
    return [f"{falling} Do not make it: part the salts again between A and B." for falling in falls]
