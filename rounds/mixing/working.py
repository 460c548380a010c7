"""A working acid or base made from stock: how much of what, in which order, and what goes on the label."""

from __future__ import annotations

from datetime import date

from rounds.advice import cautions as c
from rounds.book.composition import density_of
from rounds.errors import BadInput, OutOfRange, Refused
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Base, Product, SaltProduct
from rounds.mixing.sheet import MixSheet, MixStep
from rounds.science.acids_bases import KINDS, kind_named
from rounds.science.densities import TABLES, table_density_kg_l
from rounds.science.dilution import WorkingBottle, working_bottle, working_bottle_of_solid

_MILD = "potassium_hydrogen_carbonate"
_SOLID_UNITS = ("kg", "g")
STRAW = "Keep it from straw, sawdust, fuel, metals and bleach; shut, upright, out of reach of children and animals."

SHUT_AWAY = "Shut, labelled, away from acids, out of reach of children and animals."
OUTDOORS = "Outdoors or with the door open, eyewash and running water at hand, never alone."
STOCK_INTO_BOTTLE = (
    "This is acid as bought: full goggles, apron and gloves, air moving, eyewash at hand; "
    "only into the bottle with all of its water in it, thinly, and never by suction of the mouth."
)
"""In place of what is said of acid as bought that is poured into a reservoir: here the bottle holds the water."""
_LABEL_CAUTION = {
    "potassium_hydroxide": "Corrosive: goggles and gloves. Not into aluminium.",
    "potassium_carbonate": "Irritates eyes and skin: goggles and gloves. Not with acid: it foams.",
    "potassium_hydrogen_carbonate": "Keep out of the eyes. Not with acid: it foams.",
}


def working_sheet(farm: Farm, product_id: str, percent: float, litres: float, today: date) -> MixSheet:
    """The sheet for making a bottle of working acid or base.

    Parameters
    ----------
    product_id : str
        A product of the shelf: acid or base as bought, or a base as a dry salt.
    percent : float
        Wanted strength, above 0 and up to 20; 5 to 10 is usual. [% by mass]
    litres : float
        Wanted volume, above 0 and up to 50. [L]
    today : date
        For the label.

    Raises
    ------
    NotFound
        Where the shelf has no such product.
    Refused
        Where it is neither acid nor base, or its strength is not known.
    BadInput
        Where strength and density do not belong together, or an amount is out of range.
    """
    product = stock_product(farm, product_id)
    kind = product.salt if isinstance(product, SaltProduct) else product.agent
    solid = product.unit in _SOLID_UNITS
    made = _from_solid(product, kind, percent, litres) if solid else _from_liquid(product, kind, percent, litres)
    acid = kind_named(kind).is_acid
    word = "acid" if acid else "base"
    return MixSheet(
        kind="working",
        title=f"Working {word}: {litres:g} L of {percent:g} % from {product.name}",
        cautions=_cautions(product, kind, acid),
        steps=_steps(product, made, acid=acid, solid=solid, litres=litres, mild=kind == _MILD),
        label=(
            f"WORKING {word.upper()} · {kind.replace('_', ' ')} {percent:g} % by mass · "
            f"{made.agent.mol_per_l:.2f} mol/L",
            f"Made on {today.isoformat()} from {product.name}",
            _LABEL_CAUTION.get(kind, "Corrosive: goggles and gloves. Never with bleach."),
        ),
        notes=_notes(product, made, percent, litres, solid=solid),
        figures={
            "water_ml": made.water_ml, "stock_ml": made.stock_ml, "stock_g": made.stock_g, "whole_g": made.whole_g,
            "mol_per_l": made.agent.mol_per_l, "density_kg_l": made.whole_g / (litres * 1000.0),
        },
    )  # fmt: skip


def stock_product(farm: Farm, product_id: str) -> Acid | Base | SaltProduct:
    """The acid, base or dry salt of that id.

    Raises
    ------
    NotFound, Refused
        Where the shelf has none of that id, or it is something else.
    """
    product = product_named(farm, product_id)
    if isinstance(product, Acid | Base) or (isinstance(product, SaltProduct) and product.salt in KINDS):
        return product
    raise Refused(
        f"{product.name} is neither an acid nor a base.", "Name the stock that the working bottle is made from."
    )


def product_named(farm: Farm, product_id: str) -> Product:
    """A product of the shelf.

    Raises
    ------
    NotFound
        With the likeliest ids.
    """
    from difflib import get_close_matches

    from rounds.errors import NotFound

    if product_id in farm.shelf:
        return farm.shelf[product_id]
    near = get_close_matches(product_id, farm.shelf, n=4, cutoff=0.4) or list(farm.shelf)[:8]
    raise NotFound(f"There is no product “{product_id[:40]}” on the shelf.", f"There are: {', '.join(near) or 'none'}.")


def _from_liquid(product: Acid | Base | SaltProduct, kind: str, percent: float, litres: float) -> WorkingBottle:
    assert not isinstance(product, SaltProduct)
    if product.molarity_mol_l is not None:
        strength, density = _of_molarity(product.name, kind, product.molarity_mol_l)
    elif product.percent is not None:
        strength, density = product.percent, density_of(product) or 1.0
    else:
        raise strength_unknown(product)
    return _made(product, kind, strength, density, percent, litres)


def _made(product: Product, kind: str, stock: float, density: float, percent: float, litres: float) -> WorkingBottle:
    try:
        return working_bottle(
            kind, volume_l=litres, working_percent=percent, stock_percent=stock, stock_density_kg_l=density
        )
    except BadInput as error:
        raise type(error)(f"{product.name}: {error.sentence}", error.hint) from error


def _from_solid(product: Acid | Base | SaltProduct, kind: str, percent: float, litres: float) -> WorkingBottle:
    purity = 100.0 if isinstance(product, SaltProduct) else product.percent
    if purity is None:
        raise strength_unknown(product)
    return working_bottle_of_solid(kind, volume_l=litres, working_percent=percent, purity_percent=purity)


def strength_unknown(product: Product) -> Refused:
    """Why nothing is made or dosed from a bottle of unknown strength."""
    return Refused(
        f"The strength of {product.name} is not known, so nothing is worked out from it.",
        "Enter its percent from the label, or its mol/L, in shelf.toml.",
    )


def _of_molarity(name: str, kind: str, mol_l: float) -> tuple[float, float]:
    """Percent and density of a stock whose mol/L is known, from the handbook's densities."""
    low, high = 0.0, TABLES[kind][-1][0]
    mass = kind_named(kind).molar_mass_g
    if mol_l > high * 10.0 * table_density_kg_l(kind, high) / mass:
        raise OutOfRange(f"{name}: {mol_l:g} mol/L is stronger than {kind} is sold.", "Read the label again.")
    for _ in range(50):
        half = (low + high) / 2.0
        weak = half * 10.0 * table_density_kg_l(kind, half) / mass < mol_l
        low, high = (half, high) if weak else (low, half)
    return high, table_density_kg_l(kind, high)


def _cautions(product: Acid | Base | SaltProduct, kind: str, acid: bool) -> tuple[str, ...]:
    if acid:
        assert isinstance(product, Acid)
        of_pouring = {c.SLOWLY: (), c.STOCK_ACID: (STOCK_INTO_BOTTLE,)}
        kept = [said for caution in c.for_acid(product) for said in of_pouring.get(caution, (caution,))]
    else:
        ammonia = () if kind == _MILD else ("Never near ammonium salts or concentrates: ammonia is freed.",)
        kept = [*c.of_base(kind), *ammonia, c.LOCAL]
    if not acid and kind != "potassium_hydroxide":
        return (*kept[:-1], SHUT_AWAY, kept[-1])
    return (*kept[:-1], STRAW, OUTDOORS, kept[-1])


def _steps(
    product: Product, made: WorkingBottle, *, acid: bool, solid: bool, litres: float, mild: bool
) -> tuple[MixStep, ...]:
    strong = not mild
    stock, unit = (made.stock_g, "g") if solid else (made.stock_ml, "mL")
    how = "Weigh" if solid else "Measure"
    into = "little by little, stirring; let it cool between" if not acid else "slowly, stirring; it warms"
    into = "little by little, stirring until it is clear" if mild else into
    tool, rest = "scoop and bowl" if solid else "cylinder", "Let it stand" if mild else "Let it cool"
    return (
        MixStep(text=f"Goggles{' and gloves' if strong else ''} on; water{' and eyewash' if strong else ''} at hand; a "
                f"clean bottle that takes {litres * 1.1:.1f} L or more, labelled first."),
        MixStep(text=f"Pour {made.water_ml:.0f} mL of cold clean water into the bottle.", what="water",
                amount=made.water_ml, unit="mL"),
        MixStep(text=f"{how} {stock:.0f} {unit} of {product.name} and add it to the water, {into}. "
                "Never the other way round.", what=product.id, amount=stock, unit=unit),
        MixStep(text=f"{rest}, close it, turn it over three times. Rinse {tool} with plenty of water."),
        MixStep(text="Enter it on the shelf with its strength and density, and the new amount of the stock."),
    )  # fmt: skip


def _notes(product: Product, made: WorkingBottle, percent: float, litres: float, *, solid: bool) -> tuple[str, ...]:
    density = made.whole_g / (litres * 1000.0)
    used = f"{made.stock_g / 1000.0:.3f} kg" if solid else f"{made.stock_ml / 1000.0:.3f} L"
    notes = [
        f"For shelf.toml: percent = {percent:g}, density_kg_l = {density:.3f}, working = true.",
        f"It uses {used} of {product.name}; the whole weighs {made.whole_g:.0f} g, which the scale can check.",
    ]
    if isinstance(product, SaltProduct):
        notes.append("Worked out as pure salt; for a bag of lower purity enter it as a base with its per cent.")
    if percent > 10.0:
        notes.append("5 to 10 % is usual for a bottle that doses are poured from; this one is stronger.")
    return tuple(notes)
