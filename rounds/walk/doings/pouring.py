"""What was poured out of a bottle unasked: as it was, however much; far beyond the book it is asked about first."""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from functools import partial
from typing import Any

from rounds.book.waters import water_known
from rounds.errors import BadInput, RoundsError
from rounds.farm.shelf import Acid, Base, Concentrate
from rounds.farm.stations import Reservoir
from rounds.text import clean_line
from rounds.walk.carrying_out import EMERGENCY
from rounds.walk.doings.asking import amount
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import Ask, Place, Understood, Verb, Way
from rounds.walk.doings.water import RESERVOIRS, dose, litres_now
from rounds.walk.doings.words import MILLILITRES, Words, named_by, one_of
from rounds.walk.helper import beyond_limit
from rounds.walk.permission import BEYOND
from rounds.walk.session import Session

Liquid = Acid | Base | Concentrate
_ACID_WORDS = ("acid", "ph-down", "phdown", "ph-", "down", "ph down")
_BASE_WORDS = ("base", "lye", "ph-up", "phup", "ph+", "up", "ph up")
_ASKED_MEQ_L = 1.0
"""So much more than the alkalinity of the hardest water at hand is still believed of acid, and of base. [meq/L]"""
_TIMES_A_FILL = 1.5
"""A part of a feed beyond so many times that of a whole full-strength fill is asked about. [-]"""
_MOST_ML = 20_000.0


def read_poured(place: Place, words: Words) -> Way:
    """Acid, base or a part of the feed, in mL; what was poured is written down whoever poured it."""
    reservoir = place.station
    assert isinstance(reservoir, Reservoir)
    gallon = place.session.farm.place.gallon
    ml = yield from amount(words, MILLILITRES, "mL", "How many mL?", "poured 20 ml acid", most=_MOST_ML, gallon=gallon)
    words.refuse_numbers(f"{ml:g}", "poured 20 ml acid")
    product = yield from liquid_of(place, reservoir, words, f"poured {ml:g} ml acid")
    beyond = far_beyond(place.session, reservoir, product, ml)
    limit = beyond_limit(place.session, product.id, ml, "mL")
    marks = (f"{BEYOND}, warned: {limit}",) if limit else ()
    action = action_of(product)
    return Understood(
        drafts=(dose(place, words, action, product.id, ml, "mL", marks),),
        follows=f"more than your limit: {limit}" if limit and not beyond else "",
        beyond=beyond, again=f"{ml:g}" if beyond else "", now_do=EMERGENCY.get(action, "") if beyond else "",
    )  # fmt: skip


def action_of(product: Liquid) -> str:
    """What pouring a product is, as the steps of a correction call it."""
    if isinstance(product, Concentrate):
        return f"concentrate_{product.part.lower()}"
    return "acid" if isinstance(product, Acid) else "base"


def liquid_of(place: Place, reservoir: Reservoir, words: Words, example: str) -> Generator[Ask, Any, Liquid]:
    """Which bottle: named on the line by what it is or is called, else asked."""
    liquids = {id: each for id, each in place.session.farm.shelf.items() if isinstance(each, Liquid)}
    names = {id: _names_of(place.session, reservoir, each) for id, each in liquids.items()}
    if not names:
        raise in_words(BadInput, "no-product", word="", known="nothing that is poured")

    known = ", ".join(each[0] for each in names.values())

    def read(text: str) -> Liquid:
        unknown = partial(in_words, BadInput, "no-product", word=clean_line(text, 40), known=known)
        is_number = text.strip().isdecimal()
        return liquids[one_of(some if is_number or named_by(some, text.strip().casefold()) else names, text, unknown)]

    said = [word for word in words.left if word.casefold() not in ("of", "the")]
    taken, found = _longest_named(names, [word.casefold() for word in said])
    some = {id: names[id] for id in found or names}
    if len(found) == 1:
        words.left = said[taken:]
        return liquids[found[0]]
    if said and not found:
        raise in_words(BadInput, "no-product", word=clean_line(" ".join(said), 40), known=known)
    told = " · ".join(f"{number} {each[0]}" for number, each in enumerate(some.values(), 1))
    words.left = said[taken:]
    product: Liquid = yield Ask(code="product", text=f"Out of which bottle? {told}", inline=example, read=read)
    return product


def _longest_named(names: Mapping[str, Sequence[str]], said: Sequence[str]) -> tuple[int, list[str]]:
    """How many of the first words name something, and what."""
    for taken in range(len(said), 0, -1):
        found = named_by(names, " ".join(said[:taken]))
        if found:
            return taken, found
    return 0, []


def _names_of(session: Session, reservoir: Reservoir, product: Liquid) -> tuple[str, ...]:
    """What a bottle may be called here: its name, its id, what it is, its letter in the feed of the reservoir."""
    own = (product.name, product.id)
    if isinstance(product, Concentrate):
        feed = session.farm.feeds.get(reservoir.feed)
        here = feed is not None and product.id in feed.products
        return (*own, product.part, f"part {product.part}", f"feed {product.part}") if here else own
    kind = _ACID_WORDS if isinstance(product, Acid) else _BASE_WORDS
    return (*own, product.agent.replace("_", " "), *kind)


def far_beyond(
    session: Session, reservoir: Reservoir, product: Liquid, ml: float, filled_l: float | None = None
) -> str:
    """Why an amount is far more than the book would ever advise there; empty where it is not.

    Of acid and base: more than takes up all the alkalinity of the hardest water at hand, and a milliequivalent for each
    litre beside. Of a part of the feed: half as much again as a whole full-strength fill. By the book, never by belief.

    Parameters
    ----------
    filled_l : float, optional
        What circulates, where it was just filled; else by the last dip. [L]
    """
    inside_l = litres_now(session, reservoir) or reservoir.working_volume_l
    litres = filled_l or session.farm.circulating_volume_l(reservoir, inside_l)
    most = _most_ml(session, reservoir, product, litres)
    if most is None or ml <= most:
        return ""
    said = in_words(BadInput, "far-beyond", ml=ml, product=product.name, litres=litres, most=most)
    return said.sentence.removesuffix(".")


def _most_ml(session: Session, reservoir: Reservoir, product: Liquid, litres: float) -> float | None:
    """The most that is believed without asking; None where nothing is known of the bottle. [mL]"""
    if isinstance(product, Concentrate):
        feed = session.farm.feeds.get(reservoir.feed)
        part = next((each for each in feed.parts if each.product == product.id), None) if feed is not None else None
        return _TIMES_A_FILL * part.ml_per_l * litres if part is not None else None
    from rounds.book.composition import agent_of  # the chemistry is not needed before something is poured

    try:
        per_ml = abs(agent_of(product).per_ml.alkalinity_meq_l)
        today = session.now().date()
        hardest = max(water_known(session.farm, w, today).solution.alkalinity_meq_l for w in reservoir.waters)
    except RoundsError:
        return None
    return (max(0.0, hardest) + _ASKED_MEQ_L) * litres / per_ml if per_ml > 0.0 else None


POURING = (
    Verb(word="poured", also=("dosed",), particles=("in",), read=read_poured, at=RESERVOIRS,
         example="poured 20 ml acid", does="acid, base or feed poured in, in mL", in_help=True),
)  # fmt: skip
