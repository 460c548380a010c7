"""The shelf on the walk: what is left, what runs out, and counting it anew."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from rounds.book.stock import Stock
from rounds.errors import BadInput
from rounds.farm.shelf import Acid, Base, Concentrate, Product
from rounds.history.record import Draft, Record
from rounds.units import parse_quantity
from rounds.walk.error_texts import in_words
from rounds.walk.session import Session


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfLine:
    """One product as it stands now."""

    product: Product
    amount: float
    per_week: float
    """What the last four weeks used, in the product's unit."""
    concern: str
    """Why it wants attention; empty where it does not."""


def shelf_lines(session: Session) -> list[ShelfLine]:
    """Every product of the shelf, those that want attention first."""
    now = session.now()
    stock = Stock(session.farm)
    state = session.history.folded(stock)
    left, before = stock.left(state), stock.left(state, before=now - timedelta(days=28))
    lines = []
    for product in session.farm.shelf.values():
        used = max(0.0, before[product.id] - left[product.id]) / 4
        concern = _concern(product, left[product.id], now.date())
        lines.append(ShelfLine(product=product, amount=left[product.id], per_week=used, concern=concern))
    return sorted(lines, key=lambda line: not line.concern)


def left_now(session: Session) -> dict[str, float]:
    """Amount of every product now, each in its own unit of the shelf; no month is opened for it, as a rule."""
    stock = Stock(session.farm)
    return stock.left(session.history.folded(stock))


def count_product(session: Session, product: Product, text: str) -> Record:
    """Write down what was counted.

    Raises
    ------
    BadInput
        For an amount that is none.
    """
    amount = read_amount(session, product, text)
    draft = Draft(
        kind="stock",
        measured_at=session.now(),
        item=product.id,
        person=session.person_name(),
        value=amount,
        unit=product.unit,
        typed=text,
        data={"why": "counted"},
    )
    return session.save(draft)[0]


def read_amount(session: Session, product: Product, text: str) -> float:
    """Read an amount of a product in the unit of the shelf.

    Raises
    ------
    BadInput
        For an amount that is none.
    """
    unit = product.unit if product.unit != "pieces" else ""
    amount = parse_quantity(text, usual=unit, gallon=session.farm.place.gallon)
    if not 0 <= amount <= 1_000_000:
        raise in_words(BadInput, "shelf-amount", amount=amount, unit=product.unit)
    return amount


def strength_text(product: Product) -> str:
    """How strong a product is, in words."""
    if isinstance(product, Acid | Base):
        if product.percent is not None:
            return f"{product.percent:g} %{' working' if product.working else ''}"
        if product.molarity_mol_l is not None:
            return f"{product.molarity_mol_l:g} mol/L"
        return "strength unknown"
    return f"part {product.part}" if isinstance(product, Concentrate) else ""


def _concern(product: Product, amount: float, today: date) -> str:
    if product.use_by is not None and product.use_by < today:
        return f"past its date, {product.use_by.isoformat()}"
    if amount <= 0:
        return "none left"
    if amount < product.reorder_at:
        return f"below {product.reorder_at:g} {product.unit}: reorder"
    if isinstance(product, Acid | Base) and product.percent is None and product.molarity_mol_l is None:
        return "strength unknown: it is never dosed"
    return ""
