"""Pieces from stock lengths with the least waste."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_STEPS = 1500
"""Steps after which the search stops: a few milliseconds, since it runs at every key typed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One stock length and what is cut from it."""

    stock_mm: float
    pieces_mm: tuple[float, ...]
    offcut_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CutList:
    """All bars for one kind of material."""

    bars: tuple[Bar, ...]
    proven: bool
    """Whether no cheaper way exists; False where the search was cut short and the best one found is given."""

    @property
    def bought_mm(self) -> float:
        """Stock to buy. [mm]"""
        return sum(bar.stock_mm for bar in self.bars)

    @property
    def waste_mm(self) -> float:
        """Offcuts and saw cuts. [mm]"""
        return self.bought_mm - sum(sum(bar.pieces_mm) for bar in self.bars)


def cut(pieces_mm: Sequence[float], stock_mm: Sequence[float], kerf_mm: float = 0.0) -> CutList:
    """Cut pieces from stock so that the least length is bought.

    A piece longer than every stock length is joined from whole stock lengths and a rest.

    Parameters
    ----------
    pieces_mm : sequence of float
        Lengths wanted, above 0. [mm]
    stock_mm : sequence of float
        Lengths sold, above 0. [mm]
    kerf_mm : float
        What the saw takes between two pieces. [mm]

    Returns
    -------
    CutList
        Bars with their pieces, longest first.

    Examples
    --------
    >>> cut([4000, 2000, 2000], [6000, 3000]).bought_mm
    9000
    """
    wanted = Counter(part for piece in pieces_mm if piece > 0 for part in _joined(piece, max(stock_mm)))
    lengths = tuple(sorted(wanted, reverse=True))
    search = _Search(lengths, tuple(sorted(set(stock_mm))), kerf_mm)
    bars, proven = search.best(tuple(wanted[length] for length in lengths))
    made = {kind: _bar(*kind, lengths, kerf_mm) for kind in set(bars)}
    return CutList(bars=tuple(made[kind] for kind in bars), proven=proven)


def _joined(piece: float, longest: float) -> list[float]:
    whole = int(piece // longest) if piece > longest else 0
    rest = piece - whole * longest
    return [longest] * whole + ([rest] if rest > 1e-6 else [])


def _bar(stock: float, fill: tuple[int, ...], lengths: tuple[float, ...], kerf: float) -> Bar:
    pieces = tuple(length for length, count in zip(lengths, fill, strict=True) for _ in range(count))
    left = stock - sum(pieces) - kerf * len(pieces)
    return Bar(stock_mm=stock, pieces_mm=pieces, offcut_mm=max(0.0, left))


_Bars = list[tuple[float, tuple[int, ...]]]


class _Search:
    """Depth first with a bound: the next bar always takes the longest piece left, filled so that nothing more fits."""

    def __init__(self, lengths: tuple[float, ...], stocks: tuple[float, ...], kerf: float) -> None:
        self._lengths, self._stocks, self._kerf = lengths, stocks, kerf
        self._found: _Bars = []
        self._bought = float("inf")
        self._steps = 0
        self._seen: dict[tuple[int, ...], float] = {}

    def best(self, counts: tuple[int, ...]) -> tuple[_Bars, bool]:
        self._greedy(counts)
        self._steps = 0
        self._look(counts, [], 0.0)
        return self._found, self._steps < _STEPS

    def _greedy(self, counts: tuple[int, ...]) -> None:
        """A first solution to improve on: first fit, from each stock length alone and from the least wasteful."""
        for stocks in [*[(stock,) for stock in self._stocks], self._stocks]:
            bars = self._first_fit(stocks, counts)
            bought = sum(stock for stock, _ in bars or ())
            if bars is not None and bought < self._bought:
                self._found, self._bought = bars, bought

    def _first_fit(self, stocks: tuple[float, ...], left: tuple[int, ...]) -> _Bars | None:
        """Bars for all pieces, each filled as well as can be; None where a piece fits into none of the stocks."""
        bars: _Bars = []
        while any(left):
            self._steps = 0
            fills = ((stock, next(self._fills(stock, left), None)) for stock in stocks)
            fitting = [(stock, fill) for stock, fill in fills if fill]
            if not fitting:
                return None
            stock, fill = min(fitting, key=lambda option: 1 - self._used(option[1]) / option[0])
            times = min(a // b for a, b in zip(left, fill, strict=True) if b)
            bars += [(stock, fill)] * times
            left = tuple(a - b * times for a, b in zip(left, fill, strict=True))
        return bars

    def _look(self, left: tuple[int, ...], bars: _Bars, bought: float) -> None:
        if not any(left):
            if bought < self._bought - 1e-6:
                self._found, self._bought = list(bars), bought
            return
        if self._steps >= _STEPS or bought + self._least(left) >= self._bought - 1e-6:
            return
        if self._seen.get(left, float("inf")) <= bought:
            return
        self._seen[left] = bought
        for stock in reversed(self._stocks):
            for fill in self._fills(stock, left):
                rest = tuple(a - b for a, b in zip(left, fill, strict=True))
                self._look(rest, [*bars, (stock, fill)], bought + stock)

    def _used(self, fill: tuple[int, ...]) -> float:
        return sum(length * count for length, count in zip(self._lengths, fill, strict=True))

    def _least(self, left: tuple[int, ...]) -> float:
        """No way buys less than the pieces' own length, rounded up to sums that the stock lengths can make."""
        need = self._used(left)
        unit = self._stocks[0] if all(stock % self._stocks[0] == 0 for stock in self._stocks) else 0
        return -(-need // unit) * unit if unit else need

    def _fills(self, stock: float, left: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        first = next(i for i, count in enumerate(left) if count)
        yield from self._fill(stock + self._kerf, left, 0, first)

    def _fill(self, room: float, left: tuple[int, ...], index: int, must: int) -> Iterator[tuple[int, ...]]:
        """Fillings with the piece that must be in, to which none can be added; fullest of long pieces first."""
        self._steps += 1
        if self._steps > _STEPS and self._found:
            return
        if index == len(left):
            if not self._fits_more(room, left):
                yield ()
            return
        size = self._lengths[index] + self._kerf
        for count in range(min(left[index], int((room + 1e-6) // size)), (0 if index == must else -1), -1):
            rest = (*left[:index], left[index] - count, *left[index + 1 :])
            for more in self._fill(room - count * size, rest, index + 1, must):
                yield (count, *more)

    def _fits_more(self, room: float, left: tuple[int, ...]) -> bool:
        """Whether one of the pieces that are left goes into the room that is left."""
        lengths = (length for length, count in zip(self._lengths, left, strict=True) if count > 0)
        return any(length + self._kerf <= room + 1e-6 for length in lengths)
