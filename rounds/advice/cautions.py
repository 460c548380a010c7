"""Cautions that stand on the step they belong to, most needed first.

Sources: labels and safety sheets of the trade; never bringing acid and chlorine bleach together: CDC MMWR 00015111.
"""

from __future__ import annotations

from rounds.farm.shelf import Acid, Base, Concentrate

LOCAL = "The label, local codes and licensed trades come first."
INTO_WATER = "Acid into water, never water into acid."
HANDS_AND_EYES = "Goggles and gloves that suit the acid; on skin or in eyes: rinse 15 minutes with water and get help."
NOT_WITH_BLEACH = "Never bring acid and chlorine bleach together, in a tank, a bucket or on one shelf: chlorine gas."
NOT_WITH_SULFITE = "Keep acid away from sulfite and from lime sulfur too."
NITRIC = "Nitric acid attacks metals and must not meet organic matter: no straw, sawdust or fuel near it."
RESTRICTED = "Some acids are restricted for the public in some countries: check what holds where you are."
STOCK_ACID = (
    "This is acid as bought: full goggles, apron and gloves, air moving, eyewash at hand, "
    "and stir it into a full bucket of water first."
)
SLOWLY = (
    "Dilute in a bucket of the reservoir's water, pour slowly over some minutes into the return, far from the suction."
)
BASE_EYES = "Alkali is worse for eyes than acid: goggles and gloves; rinse 15 minutes with water and get help."
BASE_METAL = "Never into aluminium: hydrogen. Pellets into cold water, slowly; they boil otherwise."
BASE_AMMONIA = "Alkali frees ammonia from ammonium feed: pour thinly, and air the room."
CARBONATE_EYES = "Irritates eyes and skin: goggles and gloves; in the eyes: rinse 15 minutes with water and get help."
MILD_BASE = "Mild, but salty dust: keep it out of the eyes; rinse with water if it gets there."
CARBONATE_METAL = "Not into aluminium."
CARBONATE_FOAM = "Carbonate foams in acid feed: pour slowly and leave room."
NOT_TOGETHER = "Never A and B undiluted in one vessel: rinse the cylinder between them."
SHAKE = "Shake or stir the drum before you measure."
WET_FLOOR = "Pumps and sockets above wet floors only on a 30 mA residual-current device."
SOCKETS_IN_THE_WET = (
    "Water on the floor: keep off sockets, plugs and cables in the wet; switch off at the board first, with dry hands."
)
PLUG_BEFORE_DRAIN = "Switch the pump off before the suction falls dry; nothing of this runs into a ditch or a well."
HARD_WATER_SLOWLY = "Pour it slowly into the return: water this hard can cloud a feed where it stands still."
JAR_AWAY = "What was in the jar is poured away, not into the reservoir; rinse the jar and the probe."
RINSE = "Rinse hands, probe and jug before the next reservoir."


def for_jar(product: Acid | Base) -> tuple[str, ...]:
    """What must be heeded while a little of an acid or base goes into a jar."""
    whole = for_acid(product) if isinstance(product, Acid) else for_base(product)
    return (*(caution for caution in whole if caution != SLOWLY), JAR_AWAY)


def for_acid(product: Acid) -> tuple[str, ...]:
    """What must be heeded while an acid is measured and poured."""
    kept = [INTO_WATER, HANDS_AND_EYES, SLOWLY, NOT_WITH_BLEACH, NOT_WITH_SULFITE]
    if product.agent == "nitric":
        kept.append(NITRIC)
    if not product.working:
        kept.insert(0, STOCK_ACID)
    return (*kept, RESTRICTED, LOCAL)


def for_base(product: Base) -> tuple[str, ...]:
    """What must be heeded while a base is measured and poured."""
    ammonia = () if product.agent == "potassium_hydrogen_carbonate" else (BASE_AMMONIA,)
    return (*of_base(product.agent, SLOWLY), *ammonia, LOCAL)


def of_base(agent: str, pouring: str = "") -> tuple[str, ...]:
    """What a base itself asks for: lye far more than a carbonate, so that a true alarm is heard.

    Source: how the trade's safety sheets class them (from memory): hydroxide corrosive (H314), carbonate an irritant
    (H315, H319), hydrogen carbonate not classed.
    """
    kept: tuple[str, ...]
    if agent == "potassium_hydroxide":
        kept = (BASE_EYES, pouring, BASE_METAL)
    elif agent == "potassium_carbonate":
        kept = (CARBONATE_EYES, pouring, CARBONATE_METAL, CARBONATE_FOAM)
    else:
        kept = (MILD_BASE, pouring, CARBONATE_FOAM)
    return tuple(caution for caution in kept if caution)


def for_concentrate(product: Concentrate) -> tuple[str, ...]:
    """What must be heeded with a concentrate."""
    return SHAKE, NOT_TOGETHER
