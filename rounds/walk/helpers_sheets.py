"""Mix sheets for a helper who walks: only those that stay within what the grower allowed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from rounds.errors import Refused
from rounds.farm.shelf import Acid, Base, Concentrate
from rounds.walk.error_texts import in_words
from rounds.walk.permission import Permission

if TYPE_CHECKING:
    from rounds.walk.session import Session

_ML = {"mL": 1.0, "L": 1000.0}


def refuse_a_change_out(session: Session) -> None:
    """Refuse the sheet of a change-out to a helper.

    Raises
    ------
    Refused
        Where a helper walks.
    """
    if session.is_helper:
        raise in_words(Refused, "growers-change-out")


def refuse_to_make(session: Session, product_ids: Iterable[str]) -> None:
    """Refuse to have something made from products that a helper may not use.

    Raises
    ------
    Refused
        Where a helper walks and one of them is not allowed.
    """
    for product_id in product_ids if session.is_helper else ():
        if product_id not in session.farm.limits.helper.products:
            product = session.farm.shelf.get(product_id)
            raise in_words(Refused, "helper-mix", product=product.name if product else product_id)


def refuse_beyond_limits(session: Session, pours: Iterable[tuple[str, float, str]]) -> None:
    """Refuse a sheet that pours more than a helper may.

    Parameters
    ----------
    pours : iterable of (product id, amount, unit)
        Everything the sheet pours; waters are passed over.

    Raises
    ------
    Refused
        Where a helper walks, and a product is not allowed, a step is too large, or the day's sum is.
    """
    if not session.is_helper:
        return
    limits, total = session.farm.limits.helper, _poured_today(session)
    for product_id, amount, unit in pours:
        product = session.farm.shelf.get(product_id)
        if not isinstance(product, Acid | Base | Concentrate):
            continue
        refuse_to_make(session, [product_id])
        ml = amount * _ML.get(unit, 1.0)
        total += ml
        if ml > limits.step_ml:
            raise in_words(Refused, "helper-mix-step", ml=ml, product=product.name, most=limits.step_ml)
        if total > limits.day_ml:
            raise in_words(Refused, "helper-mix-day", ml=total, most=limits.day_ml)


def _poured_today(session: Session) -> float:
    permission = Permission(farm=session.farm, history=session.history, zone=session.zone)
    return permission.poured_ml(session.person_name(), session.now())
