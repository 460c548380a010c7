"""Cut lists against the best of every possible way, tried one by one."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rounds.markout.cutting import cut


def least_by_trying_everything(pieces, stocks, kerf):
    """Least length bought over all ways to share the pieces out among bars."""
    best = float("inf")
    for owner in itertools.product(range(len(pieces)), repeat=len(pieces)):
        bought = 0
        for bar in set(owner):
            mine = [piece for piece, at in zip(pieces, owner, strict=True) if at == bar]
            need = sum(mine) + kerf * (len(mine) - 1)
            fitting = [stock for stock in stocks if stock >= need]
            bought += min(fitting) if fitting else float("inf")
        best = min(best, bought)
    return best


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(200, 3000), min_size=1, max_size=5),
    st.sampled_from([(3000,), (4000, 3000), (6000, 3000), (6000, 4000)]),
    st.sampled_from([0, 3]),
)
def test_no_way_of_cutting_buys_less(pieces, stocks, kerf):
    found = cut(pieces, stocks, kerf)
    assert found.proven
    assert found.bought_mm == least_by_trying_everything(pieces, stocks, kerf)


@given(st.lists(st.integers(50, 9000), max_size=30), st.sampled_from([(3000,), (6000, 3000)]), st.sampled_from([0, 3]))
def test_every_piece_is_cut_and_no_bar_is_longer_than_it_is(pieces, stocks, kerf):
    found = cut(pieces, stocks, kerf)
    cut_pieces = [piece for bar in found.bars for piece in bar.pieces_mm]
    assert sum(cut_pieces) == sum(pieces)
    for bar in found.bars:
        assert sum(bar.pieces_mm) + kerf * (len(bar.pieces_mm) - 1) <= bar.stock_mm
    short = [piece for piece in pieces if piece <= max(stocks)]
    for piece in short:
        assert cut_pieces.count(piece) >= short.count(piece)


def test_where_first_fit_wastes_a_bar_the_search_does_not():
    # 6 m stock: first fit by length takes 4 bars for these; 3 are enough.
    found = cut([3000, 2400, 2000, 2000, 2000, 2400, 1800, 1200, 1200], (6000,), 0)
    assert found.bought_mm == 18000


def test_a_piece_longer_than_stock_is_joined():
    found = cut([7500], (6000, 3000), 3)
    assert sorted(piece for bar in found.bars for piece in bar.pieces_mm) == [1500, 6000]
    assert found.bought_mm == 9000


def test_the_saw_cut_counts():
    assert cut([3000, 3000], (6000,), 0).bought_mm == 6000
    assert cut([3000, 3000], (6000,), 3).bought_mm == 12000


def test_a_search_that_is_cut_short_says_so():
    many = [float(317 + 13 * (i * 7 % 23)) for i in range(60)]
    found = cut(many, (2400,), 3)
    assert sum(sum(bar.pieces_mm) for bar in found.bars) == pytest.approx(sum(many))
    lower_bound = -(-sum(many) // 2400) * 2400
    assert found.proven == (found.bought_mm == lower_bound) or found.bought_mm - lower_bound <= 2 * 2400
