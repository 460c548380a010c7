"""What comes and goes by purse and shelf: bought, sold, and a new bottle, pump or probe in place of an old one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rounds.book.as_done import SWAPPED
from rounds.errors import BadInput, Refused
from rounds.farm.shelf import Acid, Base, Concentrate, ProductBase
from rounds.farm.stations import Flock
from rounds.text import clean_line
from rounds.units import parse_quantity
from rounds.walk.doings.animals import read_birds
from rounds.walk.doings.asking import MOST
from rounds.walk.doings.care import EVERYWHERE
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import Ask, Place, Understood, Verb, Way, doing
from rounds.walk.doings.words import LITRES, PIECES, WEIGHT, Words, named_by
from rounds.walk.error_texts import in_words as of_walk
from rounds.walk.session import Session
from rounds.walk.stock import left_now

_BIRDS = frozenset({"hen", "hens", "bird", "birds", "pullet", "pullets", "chick", "chicks", "cockerel", "cockerels"})
GEAR: Mapping[str, str] = {
    "pump": "pump", "probe": "probe", "meter": "probe", "electrode": "probe", "pen": "probe", "filter": "filter",
    "strainer": "strainer", "hose": "hose", "stone": "air stone", "lamp": "lamp", "battery": "battery",
}  # fmt: skip


def read_bought(place: Place, words: Words) -> Way:
    """A product delivered, or birds: what of the shelf it is, is told by its words."""
    _refuse_helper(place.session, "bought")
    if _are_birds(place, words):
        return (yield from read_birds("bought", "How many birds?", place, words))
    typed, product_id = _named(place.session, words)
    if not product_id:
        product_id = yield Ask(
            code="product", text="What of the shelf?", inline="bought 5 l nitric",
            read=lambda text: _one(place.session, text),
        )  # fmt: skip
    product = place.session.farm.shelf[product_id]
    usual = product.unit if product.unit != "pieces" else ""
    gallon = place.session.farm.place.gallon

    def read(text: str) -> float:
        amount = parse_quantity(text, usual=usual, gallon=gallon)
        if not 0.0 < amount <= MOST:
            raise in_words(BadInput, "amount", number=f"{amount:g}", unit=product.unit, most=MOST)
        return amount

    if typed:
        amount = read(typed)
    else:
        amount = yield Ask(code="amount", text=f"How much of {product.name}, in {product.unit}?",
                           inline=f"bought 5 {product.unit} {product_id}", read=read)  # fmt: skip
    draft = doing(place, words, "bought", amount, product.unit, touches=("stock",), product=product_id)
    return Understood(drafts=(draft,), follows=_on_the_shelf(place, product, amount))


def _on_the_shelf(place: Place, product: ProductBase, bought: float) -> str:
    """What is there then; what the shelf's file counted on that day or later stands."""
    if place.at.date() <= product.counted_on:
        return f"shelf.toml was counted on {product.counted_on.day} {product.counted_on:%B}: that stands"
    left = left_now(place.session).get(product.id, 0.0) + bought
    return f"{left:.4g} {product.unit} on the shelf then"


def read_sold(place: Place, words: Words) -> Way:
    """Birds of the flock, or anything else, which is only told."""
    _refuse_helper(place.session, "sold")
    if _are_birds(place, words):
        return (yield from read_birds("sold", "How many birds?", place, words))
    if not words.numbers:
        raise in_words(BadInput, "say-what", verb="sold", example="sold 12 eggs")
    typed = words.numbers[0]
    words.left.remove(typed)
    words.refuse_numbers(typed, "sold 12 eggs")
    amount = parse_quantity(typed, usual="")
    if not 0.0 < amount <= MOST:
        raise in_words(BadInput, "amount", number=f"{amount:g}", unit="", most=MOST)
    what = words.rest()
    words.left = []
    return Understood(drafts=(doing(place, words, "sold", amount, what[:40] or None, product=what or "goods"),))


def read_swapped(place: Place, words: Words) -> Way:
    """A new bottle, which is a new batch; or a pump, a probe, or other gear."""
    named = _what_was_swapped(place.session, words.rest())
    if not named:
        bottles = ", ".join(each.name for each in _bottles(place.session).values())
        named = yield Ask(
            code="swapped", text=f"What was swapped? pump, probe, or a bottle: {bottles}", inline="swapped pump",
            read=lambda text: _swapped(place.session, text),
        )  # fmt: skip
    gear, product_id = named
    words.left = [] if product_id else [word for word in words.left if GEAR.get(word.casefold()) != gear]
    draft = doing(place, words, SWAPPED, product=product_id or None, gear=gear or None)
    follows = "a new batch: what was learned of the old bottle does not count" if product_id else ""
    return Understood(drafts=(draft,), follows=follows)


def _refuse_helper(session: Session, verb: str) -> None:
    if session.is_helper:
        raise of_walk(Refused, "growers-doing", verb=verb)


def _are_birds(place: Place, words: Words) -> bool:
    said = [word.casefold() for word in words.left if not word[:1].isdigit() and word[:1] not in "+-"]
    return isinstance(place.station, Flock) and (not said or said[0] in _BIRDS)


def _named(session: Session, words: Words) -> tuple[str, str]:
    """The amount as typed, and the product that the other words name."""
    numbers = words.numbers
    if len(numbers) > 1:
        words.refuse_numbers(numbers[0], "bought 5 l nitric")
    typed = numbers[0] if numbers else ""
    if typed:
        index = words.left.index(typed)
        words.left.pop(index)
        if typed[-1].isdigit() and index < len(words.left) and words.left[index].casefold() in _UNITS:
            typed += f" {words.left.pop(index)}"
    left = [word for word in words.left if word.casefold() != "of"]
    words.left = []
    return typed, _one(session, " ".join(left)) if left else ""


_UNITS = frozenset({*LITRES, *WEIGHT, *PIECES})


def names_of_shelf(session: Session) -> dict[str, Sequence[str]]:
    """The names of each product: its own, its id, and for acids and bases what they are."""
    names: dict[str, Sequence[str]] = {}
    for product in session.farm.shelf.values():
        agent = product.agent.replace("_", " ") if isinstance(product, Acid | Base) else ""
        names[product.id] = (product.name, product.id, *([agent] if agent else []))
    return names


def _one(session: Session, text: str) -> str:
    """The one product that a text names. Raises `BadInput` where it names none, or several."""
    names = names_of_shelf(session)
    found = named_by(names, text.strip().casefold())
    if not found:
        known = ", ".join(each[0] for each in names.values()) or "nothing"
        raise in_words(BadInput, "no-product", word=clean_line(text, 40), known=known)
    if len(found) > 1:
        raise in_words(BadInput, "which", word=clean_line(text, 40), found=" or ".join(found))
    return found[0]


def _bottles(session: Session) -> dict[str, Acid | Base | Concentrate]:
    return {id: each for id, each in session.farm.shelf.items() if isinstance(each, Acid | Base | Concentrate)}


def _what_was_swapped(session: Session, text: str) -> tuple[str, str] | None:
    return _swapped(session, text) if text and text.casefold() != "bottle" else None


def _swapped(session: Session, text: str) -> tuple[str, str]:
    """Gear, or the id of a product."""
    words = text.casefold().split()
    gear = next((GEAR[word] for word in words if word in GEAR), "")
    if gear:
        return gear, ""
    return "", _one(session, " ".join(word for word in words if word not in ("bottle", "drum", "can", "of")))


SHELF = (
    Verb(word="bought", also=("delivered",), read=read_bought, at=EVERYWHERE, example="bought 5 l nitric",
         does="goes onto the shelf; birds into the flock"),
    Verb(word="sold", read=read_sold, at=EVERYWHERE, example="sold 3 hens",
         does="birds leave the flock; the rest is told"),
    Verb(word="swapped", also=("replaced", "changed"), read=read_swapped, at=EVERYWHERE, particles=("the",),
         example="swapped nitric", does="a new bottle (a new batch), pump or probe"),
)  # fmt: skip
