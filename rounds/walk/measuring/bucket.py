"""The bucket test: ten litres of the farm's water, each part of a feed by syringe, and what that does to the EC."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import msgspec

from rounds.errors import BadInput, OutOfRange, RoundsError
from rounds.farm.farm import Farm
from rounds.farm.feeds import Feed
from rounds.farm.shelf import Concentrate
from rounds.farm.stations import Reservoir
from rounds.science.bucket_test import rise_by_bucket
from rounds.walk.measuring.asking import Ask, Outcome, Way
from rounds.walk.measuring.choosing import which
from rounds.walk.measuring.error_texts import in_words
from rounds.walk.measuring.numbers import number_within, numbers_of
from rounds.walk.session import Session

BUCKET_L = 10.0
SYRINGE_ML = 10.0
SAME_METER_MS_CM = 0.01
"""Error of an EC against another one by the same meter minutes later: practice. [mS/cm]"""
FALLS_MS_CM = 0.02
"""By so much an EC may fall that has not risen: what a meter does. [mS/cm]"""
ENOUGH = 0.9
"""From this share of the wanted EC on it is working strength. [-]"""
MOST_ROUNDS = 4
CAUTIONS = (
    "The parts of a feed never meet undiluted: rinse the syringe between them.",
    "The bucket is no feed afterwards: pour it away, or into the reservoir and write it down there.",
)


class Poured(msgspec.Struct, frozen=True):
    """One part stirred into the bucket."""

    part: int
    """Its place in the order of pouring."""
    ml: float
    ec_before: float
    ec_after: float
    ph: float | None = None


def parts_of(farm: Farm, feed: Feed) -> list[tuple[Concentrate, float]]:
    """The parts of a feed in the order of pouring, with the mL of each for a litre of full strength.

    Raises
    ------
    BadInput
        Where one is not on the shelf.
    """
    found = []
    for part in feed.parts:
        product = farm.shelf.get(part.product)
        if not isinstance(product, Concentrate):
            raise in_words(BadInput, "bucket-no-part", feed=feed.name, product=part.product)
        found.append((product, part.ml_per_l))
    return found


def wanted_ec(farm: Farm, feed: Feed) -> float:
    """The middle of the band at which the feed is run: of the first reservoir that runs on it. [mS/cm]"""
    fed = [each for each in farm.stations.values() if isinstance(each, Reservoir) and each.feed == feed.id]
    stages = [*(farm.stage_of(each) for each in fed), *feed.stages]
    return sum(stages[0].ec) / 2.0


def bucket(session: Session, feed_id: str) -> Way:
    """Ask for the water and for each part, until the bucket is at working strength; work out what a mL does.

    Raises
    ------
    BadInput
        Where a part of the feed is not on the shelf.
    """
    farm = session.farm
    feed = farm.feeds[feed_id]
    parts, wanted = parts_of(farm, feed), wanted_ec(farm, feed)
    waters = [each for each in farm.waters.values() if not each.blend]
    water = (yield which("water", "Which water is in the bucket?", waters)) if len(waters) > 1 else waters[0]
    litres = yield _litres()
    first = yield _plain()
    poured: list[Poured] = []
    for number in range(MOST_ROUNDS):
        strength = 0.5 if number == 0 else _share_left(parts, poured, litres, wanted)
        for place, (product, ml_per_l) in enumerate(parts):
            ml = _for_a_syringe(strength * ml_per_l * litres)
            before = poured[-1].ec_after if poured else first
            last = place == len(parts) - 1
            poured.append((yield _part(place, product, ml, before, with_ph=last, again=number > 0)))
        if poured[-1].ec_after >= ENOUGH * wanted:
            break
    return _outcome(farm, feed, parts, poured, water.id, litres, wanted)


def _share_left(
    parts: Sequence[tuple[Concentrate, float]], poured: Sequence[Poured], litres: float, wanted: float
) -> float:
    """The share of full strength that still leads to the wanted EC, by what the parts have shown so far. [-]"""
    rise = sum(
        ml_per_l * sum(each.ec_after - each.ec_before for each in poured if each.part == place)
        / max(sum(each.ml for each in poured if each.part == place) / litres, 1e-6)
        for place, (_, ml_per_l) in enumerate(parts)
    )  # fmt: skip
    missing = max(wanted - poured[-1].ec_after, 0.05)
    return min(max(missing / rise, 0.1), 1.0) if rise > 0.05 else 0.5


def _for_a_syringe(ml: float) -> float:
    """What a 10 mL syringe measures well."""
    return max(round(ml), 1.0) if ml >= 2.0 else max(round(ml, 1), 0.2)


def _litres() -> Ask:
    return Ask(
        code="bucket-litres", text="How many litres of it are in the bucket?",
        read=lambda text: BUCKET_L if not text else number_within(text, 0.5, 200.0, "A bucket", "L", usual="L"),
        told=lambda litres: f"{litres:g} L in the bucket", hint=f"Litres; Enter alone says {BUCKET_L:g}",
        lines=("Weighed on a kitchen scale (10 kg), or by the mark of a jug; at the temperature of the reservoir.",),
    )  # fmt: skip


def _plain() -> Ask:
    return Ask(
        code="bucket-water", text="What EC does the plain water show?",
        read=lambda text: number_within(text, 0.0, 5.0, "A water's EC", "mS/cm", usual="mS/cm"),
        told=lambda ec: f"plain water {ec:g} mS/cm", hint="EC in mS/cm, such as 0.52",
    )  # fmt: skip


def _part(place: int, product: Concentrate, ml: float, before: float, *, with_ph: bool, again: bool) -> Ask:
    def read(text: str) -> Poured:
        numbers = numbers_of(text)
        if len(numbers) not in ((2, 3) if with_ph else (2,)):
            raise in_words(BadInput, "bucket-numbers", what="mL, EC and pH" if with_ph else "mL and EC", ml=ml)
        if not 0.1 <= numbers[0] <= 2000.0 or not 0.0 <= numbers[1] <= 20.0:
            raise in_words(OutOfRange, "bucket-odd", ml=numbers[0], ec=numbers[1])
        if numbers[1] < before - FALLS_MS_CM:
            raise in_words(OutOfRange, "bucket-falls", ec=numbers[1], before=before, product=product.name)
        ph = numbers[2] if len(numbers) == 3 else None
        if ph is not None and not 2.0 <= ph <= 11.0:
            raise in_words(OutOfRange, "measure-range", what="A pH", value=ph, unit="", low=2.0, high=11.0)
        return Poured(place, numbers[0], before, numbers[1], ph)

    def told(each: Poured) -> str:
        ph = "" if each.ph is None else f", pH {each.ph:g}"
        return f"{each.ml:g} mL of {product.name}: {each.ec_before:g} to {each.ec_after:g} mS/cm{ph}"

    fills = (
        "" if ml <= SYRINGE_ML else f", {ml / SYRINGE_ML:.0f} times the 10 mL syringe" if ml % SYRINGE_ML == 0 else ""
    )
    return Ask(
        code="bucket-part", read=read, told=told,
        text=f"Stir in {ml:g} mL of {product.name}. mL and EC{' and pH' if with_ph else ''}?",
        lines=(
            f"Shake the bottle; about {ml:g} mL{fills}; type what was really poured. Stir for a minute, then read.",
            *(("Once more, now up to the strength at which it is run.",) if again else ()),
        ),
        cautions=CAUTIONS, hint=f"Such as: {ml:g} {before + 0.4:.2f}{' 6.1' if with_ph else ''}",
    )  # fmt: skip


def _outcome(
    farm: Farm, feed: Feed, parts: Sequence[tuple[Concentrate, float]], poured: Sequence[Poured], water_id: str,
    litres: float, wanted: float,
) -> Outcome:  # fmt: skip
    rises = dict(_rises(parts, poured, litres))
    lines, meter = [], farm.meter_for("ec")
    for product, _ in parts:
        per_ml_l, sd = rises[product.id]
        lines.append(f"{product.name}: {per_ml_l:.3f} mS/cm for each mL per litre, give or take {1.645 * sd:.3f}.")
    plain, there = poured[0].ec_before, poured[-1].ec_after
    full = sum(ml_per_l * rises[product.id][0] for product, ml_per_l in parts)
    if full > 0.0 and wanted > plain:
        share = (wanted - plain) / full
        amounts = " and ".join(f"{share * ml_per_l:.2g} mL of {product.name}" for product, ml_per_l in parts)
        lines.append(f"EC {wanted:.2g} in this water: {amounts} to the litre.")
    lines.append(
        f"The bucket ended at {there:g} mS/cm" + (f", pH {ph:g}." if (ph := poured[-1].ph) is not None else ".")
    )
    return Outcome(
        value=round(full, 4), sd=round(sum(ml * rises[product.id][1] for product, ml in parts), 4), unit="mS/cm",
        how="in a bucket", lines=tuple(lines), meter=meter.id if meter else None,
        beside={
            "parts": {id: {"per_ml_l": round(rise, 5), "sd": round(sd, 5)} for id, (rise, sd) in rises.items()},
            "rows": [[each.ml, each.ec_after] for each in poured],
            "products": [parts[each.part][0].id for each in poured],
            "water": water_id, "litres": litres, "ec_ms_cm": poured[0].ec_before,
        },
    )  # fmt: skip


def _rises(
    parts: Sequence[tuple[Concentrate, float]], poured: Sequence[Poured], litres: float
) -> Iterator[tuple[str, tuple[float, float]]]:
    """By product what a millilitre in each litre raises the EC by, over all that was poured of it, and its spread."""
    for place, (product, _) in enumerate(parts):
        mine = [each for each in poured if each.part == place]
        whole, meter = sum(each.ec_after - each.ec_before for each in mine), SAME_METER_MS_CM * math.sqrt(len(mine))
        try:
            found = rise_by_bucket(sum(each.ml for each in mine), litres, 0.0, max(whole, 0.0), meter)
        except RoundsError:
            continue
        yield product.id, (found.per_ml_l, found.sd)
