"""What every relief sheet says whatever the farm: emergencies, what a helper must not do, cautions in full.

Rinsing, never bringing acid and bleach together, gas that lies low: labels and safety sheets of the trade, CDC MMWR
00015111, OSHA and NIOSH. How soon plants wilt without flow is common practice.
"""

from __future__ import annotations

from collections.abc import Mapping

from rounds.advice import cautions as c

FIRST_OF_ALL = "People first, then animals, then plants. Nothing here is worth getting hurt for."


def emergencies(where: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """What can go wrong, and what is done first; places as the farm names them."""
    isolators = _at(where, "isolators", "Isolators")
    return (
        (
            "Smell of gas, smoke or burning",
            "Stay out or get out; touch no switch. Isolate from outside only. "
            f"{isolators} Call the fire service, then the first number above.",
        ),
        (
            "Acid or alkali on skin or in an eye",
            "Rinse with running water for 15 minutes, lids held open; take wet clothes off. Call the "
            f"poison line or the emergency number while it runs. {_at(where, 'eyewash', 'Eyewash')} "
            f"{_at(where, 'first_aid', 'First aid')}",
        ),
        (
            "Spill of acid, alkali or concentrate",
            "Keep away, air the room, keep animals out. Small and watered down: goggles, gloves, much water. The "
            "bottle as bought: leave it and call. Never sawdust or straw on nitric acid, never bleach near acid.",
        ),
        (
            "Pump stopped, returns dry",
            "Fruiting crops wilt in 20 to 60 minutes in sun, leaf crops in 1 to 3 hours. Power there? Unplug, "
            f"clear the strainer, plug in. Else the spare pump. {_at(where, 'spare_pump', 'Spare pump')} "
            "Meanwhile a litre by hand into each channel every half hour, and shade.",
        ),
        (
            "Power cut",
            "Leave a tripped device off while anything is wet. Water the channels by hand, shade, open vents. "
            f"{_at(where, 'generator', 'Generator')} Generator outdoors only: its gas kills.",
        ),
        (
            "Leak, water on the floor",
            f"Keep out of the wet: isolate first. {isolators} Then pump off, close the valve, bucket under it. "
            f"{_at(where, 'water', 'Water')} Top up to the mark once it is tight.",
        ),
        (
            "Animal ill or dead",
            "Set it apart, wash hands, water and ration in reach. Two sudden deaths, several dull birds, blood, "
            "one that will not stand: the vet today. No medicine on your own. Dead birds: gloves, closed bag, cold.",
        ),
        (
            "Somebody faint in a cellar or store",
            "Do not go in after them: gas from ferments lies low and cannot be smelled. Air from outside, and call the "
            "emergency number.",
        ),
    )


MUST_NOTS = (
    "Pour nothing but what is listed for you, and never more than a table says.",
    "No acid and no alkali unless it is listed for you; never the bottles as bought.",
    "Never A and B together undiluted, in a jug, a bucket or a drum.",
    "Never dose on a reading you doubt: rinse the probe, read again, call.",
    "Never dose twice because you are not sure: look at what is written, then call.",
    "Pump off and unplugged before a hand goes into water beside it.",
    "No sprays, no medicine, no cleaning with bleach while the grower is away.",
    "Do not go down to the cask or into the store where the air feels heavy: air first.",
)


def all_cautions() -> tuple[str, ...]:
    """Every caution that may be needed, in full; those for eyes and lungs come first."""
    return (
        c.HANDS_AND_EYES,
        c.BASE_EYES,
        c.INTO_WATER,
        c.NOT_WITH_BLEACH,
        "Never bleach with ammonia, hen litter or droppings; never bleach with peroxide.",
        c.NOT_WITH_SULFITE,
        c.NITRIC,
        c.BASE_METAL,
        c.BASE_AMMONIA,
        c.SLOWLY,
        c.NOT_TOGETHER,
        c.SHAKE,
        c.WET_FLOOR,
        c.PLUG_BEFORE_DRAIN,
        c.RINSE,
        "CO2 from ferments collects low: air the room before going in.",
        "Hens last; wash hands after them. A station marked sick comes last of all.",
        c.RESTRICTED,
        c.LOCAL,
    )


def _at(where: Mapping[str, str], key: str, name: str) -> str:
    text = where.get(key, "")
    return f"{name}: {text}" if text else ""
