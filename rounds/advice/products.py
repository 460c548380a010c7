"""Which bottle a dose is poured from, and how far it goes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from rounds.advice.case import Case
from rounds.advice.gates import Direction
from rounds.belief import state as b
from rounds.book.composition import agent_of
from rounds.book.ledger import read_since_fill
from rounds.book.offer import Finding, Refusal, in_full, refused
from rounds.book.stock import millilitres_left, stock_now
from rounds.errors import BadInput
from rounds.farm.shelf import Acid, Base
from rounds.science.acids_bases import Agent

USUAL_TIMES = 3.0
"""More than so many times the usual dose here is hard to believe. [-]"""
_FEWEST_USUAL = 3
_STRONGEST_WORKING_PERCENT = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottle:
    """A product that may be poured, and at most how much of it."""

    product: Acid | Base
    agent: Agent
    most_ml: float
    """What is left, what the recipe allows, and what is not more than three times the usual. [mL]"""
    left_ml: float
    held_by: str = ""
    """What narrows it below the amount left: `recipe` or `usual`."""
    hard_ml: float = math.inf
    """What is left and what the recipe allows, whatever is usual. [mL]"""
    hard_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenBottle:
    """The bottle to pour from, or why there is none."""

    bottle: Bottle | None = None
    refusals: tuple[Refusal, ...] = ()
    findings: tuple[Finding, ...] = ()


def chosen(case: Case, direction: Direction, *, fill: bool = False) -> ChosenBottle:
    """The first bottle of the shelf that may be poured; what is wrong with the others where none may.

    Parameters
    ----------
    fill : bool
        Whether a change-out is filled, at which acid as bought may be used from a settable size on.
    """
    kind = Acid if direction == "acid" else Base
    shelf = [p for p in case.farm.shelf.values() if isinstance(p, kind)]
    stock = stock_now(case.farm, case.entries)
    bottles: list[Bottle] = []
    refusals: list[Refusal] = []
    for product in sorted(shelf, key=lambda p: not p.working):
        found = _bottle(case, product, stock, fill=fill)
        if isinstance(found, Bottle):
            bottles.append(found)
        else:
            refusals.append(found)
    if bottles:
        best = max(
            bottles,
            key=lambda bottle: (_is_working(bottle.product) != _stock_wanted(case, fill), bottle.held_by != "recipe"),
        )
        return ChosenBottle(bottle=best, findings=tuple(in_full(r) for r in refusals if r.code == "strength-unknown"))
    return ChosenBottle(refusals=tuple(refusals) or (_nothing(direction),))


def usual_ml(case: Case, product_ids: Iterable[str]) -> float | None:
    """The usual dose of some products here: the median of the past ones; None below three of them. [mL]"""
    ids = set(product_ids)
    since = read_since_fill(case.ledger)
    doses = [e for e in case.ledger.events if e.what == "dose" and e.item in ids and (since is None or e.at >= since)]
    amounts = sorted(e.value for e in doses if e.value > 0.0)
    return amounts[len(amounts) // 2] if len(amounts) >= _FEWEST_USUAL else None


def _bottle(case: Case, product: Acid | Base, stock: dict[str, float], *, fill: bool) -> Bottle | Refusal:
    try:
        agent = agent_of(product)
    except BadInput as error:
        return refused("strength-unknown", sentence=error.sentence, hint=error.hint)
    if agent.kind.not_for_recirculation:
        why = agent.kind.not_for_recirculation.split(". ")[0]
        return refused("not-for-recirculation", name=product.name, why=why)
    if not _is_working(product) and not _stock_wanted(case, fill):
        return _only_for_making(product)
    left = millilitres_left(case.farm, stock, product.id)
    if left < 1.0:
        return refused("bottle-used-up", about="out-of-stock", name=product.name)
    return _capped(case, product, agent, left)


def _capped(case: Case, product: Acid | Base, agent: Agent, left_ml: float) -> Bottle:
    caps = {"": left_ml}
    if agent.kind.name == "phosphoric":
        caps["recipe"] = _room_for_phosphate(case) * case.volume_l / agent.mol_per_l
    hard = min(caps, key=lambda name: caps[name])
    usual = usual_ml(case, [product.id])
    if usual is not None:
        caps["usual"] = USUAL_TIMES * usual
    held = min(caps, key=lambda name: caps[name])
    return Bottle(product=product, agent=agent, most_ml=caps[held], left_ml=left_ml, held_by=held,
                  hard_ml=caps[hard], hard_by=hard)  # fmt: skip


def _room_for_phosphate(case: Case) -> float:
    """Phosphate that is still wanting to what the recipe brings at full strength. [mmol/L]"""
    if case.state is None:
        return 0.0
    return max(0.0, case.feed.full.po4 - math.exp(min(case.state.mean[b.PHOSPHATE], 5.0)))


def _is_working(product: Acid | Base) -> bool:
    weak = product.percent is not None and product.percent <= _STRONGEST_WORKING_PERCENT
    return product.working or weak or (product.molarity_mol_l is not None and product.molarity_mol_l <= 2.0)


def _stock_wanted(case: Case, fill: bool) -> bool:
    return fill and case.reservoir.working_volume_l >= case.farm.limits.stock_acid_from_l


def _only_for_making(product: Acid | Base) -> Refusal:
    if isinstance(product, Acid):
        return refused("stock-acid", name=product.name)
    return refused("stock-base", name=product.name)


def _nothing(direction: Direction) -> Refusal:
    return refused("nothing-on-shelf", kind=direction)
