"""What is left on the shelf: folded record by record it is what a plain sum over all records says."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import msgspec
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from rounds.book.day import zone_of
from rounds.book.stock import LATELY, Stock, millilitres_left, stock_now
from rounds.farm.load import load_farm
from rounds.resources import sample_farm_folder

FARM = load_farm(sample_farm_folder())
LITRES = next(each for each in FARM.shelf.values() if each.unit == "L")
ZONE = zone_of(FARM.place.timezone)
"""The days of counts and doses are the farm's own."""
COUNTED = datetime.combine(LITRES.counted_on, time(12), UTC)
IN_LITRES = {"L": 1.0, "mL": 0.001}


@dataclass(frozen=True)
class Line:
    """One record, as far as the book needs it."""

    kind: str
    value: float | None
    measured_at: datetime
    unit: str | None = None
    item: str = LITRES.id
    id: str = "x"
    station: str = "reservoir-1"
    meter: str | None = None
    note: str | None = None
    data: dict[str, Any] = field(default_factory=dict)


LINES = st.lists(
    st.builds(
        lambda kind, value, hours, unit: Line(kind, value, COUNTED + timedelta(hours=hours), unit),
        st.sampled_from(["dose", "dose", "dose", "stock", "reading"]),
        st.none() | st.integers(0, 2_000).map(float),
        st.integers(-400, 4_000),
        st.sampled_from([None, "mL", "L"]),
    ),
    unique_by=lambda line: line.measured_at,
    max_size=30,
)


def day_of(line: Line) -> date:
    return line.measured_at.astimezone(ZONE).date()


def plain(lines: list[Line], before: datetime | None = None) -> float:
    """The last count, or what the file says, less every dose after it. [L]"""
    known = [line for line in lines if line.value is not None and (before is None or line.measured_at < before)]
    counts = [
        line for line in known if line.kind == "stock" and line.measured_at.astimezone(ZONE).date() >= LITRES.counted_on
    ]
    last = max(counts, key=lambda line: line.measured_at, default=None)
    began = last.measured_at if last else datetime.combine(LITRES.counted_on, time.max, ZONE)
    poured = [line for line in known if line.kind == "dose" and line.measured_at > began]
    amount = (last.value or 0.0) if last else LITRES.amount
    return max(0.0, amount - sum((line.value or 0.0) * IN_LITRES[line.unit or "mL"] for line in poured))


@given(LINES)
@example([Line("stock", 0.0, COUNTED - timedelta(hours=13), None)])
def test_folded_in_order_it_is_what_the_plain_sum_says_now_and_lately(lines: list[Line]) -> None:
    stock = Stock(FARM)
    state = stock.empty()
    for line in sorted(lines, key=lambda line: line.measured_at):
        state = stock.step(state, line)
        state = msgspec.json.decode(msgspec.json.encode(state), type=type(state))
    assert stock.left(state)[LITRES.id] == pytest.approx(plain(lines))
    assert stock_now(FARM, lines)[LITRES.id] == pytest.approx(plain(lines))
    if lines:
        before = max(line.measured_at for line in lines) - LATELY / 2
        assert stock.left(state, before=before)[LITRES.id] == pytest.approx(plain(lines, before))


def test_a_count_from_before_the_day_that_the_file_names_is_older_than_what_the_file_says() -> None:
    old = Line("stock", 0.5, COUNTED - timedelta(days=3), "L")
    assert stock_now(FARM, [old])[LITRES.id] == LITRES.amount
    assert stock_now(FARM, [replace(old, measured_at=COUNTED - timedelta(hours=3))])[LITRES.id] == 0.5


def test_the_fold_is_another_one_where_the_file_names_another_day() -> None:
    shelf = {**FARM.shelf, LITRES.id: msgspec.structs.replace(LITRES, counted_on=date(2026, 1, 1))}
    assert Stock(replace(FARM, shelf=shelf)).version != Stock(FARM).version


def test_what_was_poured_in_a_unit_that_the_shelf_cannot_take_off_leaves_it_as_it_was() -> None:
    odd = Line("dose", 500.0, COUNTED + timedelta(days=2), "kg")
    assert stock_now(FARM, [odd])[LITRES.id] == LITRES.amount


@pytest.mark.parametrize(("unit", "amount", "ml"), [("L", 1.5, 1500.0), ("mL", 700.0, 700.0), ("kg", 2.0, 0.0)])
def test_what_is_left_is_told_in_millilitres_where_it_is_a_liquid(unit: str, amount: float, ml: float) -> None:
    product = msgspec.structs.replace(LITRES, unit=unit)
    farm = replace(FARM, shelf={**FARM.shelf, LITRES.id: product})
    assert millilitres_left(farm, {LITRES.id: amount}, LITRES.id) == pytest.approx(ml)
    assert millilitres_left(farm, {}, LITRES.id) == 0.0


def test_what_was_left_a_moment_ago_is_without_what_is_done_at_that_moment() -> None:
    stock = Stock(FARM)
    poured = Line("dose", 1.0, COUNTED + timedelta(days=2), "L")
    state = stock.step(stock.empty(), poured)
    assert stock.left(state, before=poured.measured_at)[LITRES.id] == LITRES.amount
    assert stock.left(state)[LITRES.id] == pytest.approx(LITRES.amount - 1.0)
