"""What the conductivity teaches: EC per mL of each concentrate, and how much water really circulates.

Feeding shows strength against volume, a top-up with plain water shows the volume alone; conductivities read between A
and B tell the two apart. A bucket shows strength alone, a jug the volume alone. One number for each part of the feed
and one for the volume are carried through all of these, with their spread.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta
from functools import lru_cache

from rounds.belief.buckets import bucket_moves
from rounds.belief.gaussian import Gaussian, independent
from rounds.book.composition import KnownFeed, share_at_ec
from rounds.book.labelled import DRUM_SD
from rounds.book.ledger import Ledger, LedgerEvent
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import TOTALS, Solution

A, B = range(2)
"""Places of the logarithms of true against supposed EC per mL; the circulating volume's is the last."""
CONCENTRATE_SD, VOLUME_SD = DRUM_SD, 0.08
"""Spread before anything was seen: drum and cylinder; dip, channels, roots and pipes. Practice. [-]"""
PROVEN_SD = 0.1
"""Once EC per mL is known so well, the label's rate no longer holds: spread of its logarithm. [-]"""
METER_MS_CM = 0.03
LATEST = 6
"""So many of the last feedings, and of the last top-ups, are gone through: drums are made anew. [-]"""
_WITHIN = timedelta(hours=6)
_LEAST_MOVED_MS_CM, _LEAST_SHARE = 0.06, 0.03
_OTHER_SD = 0.06
_BELIEVABLE = (0.4, 2.0)
_TOLD_APART = 0.9
"""A and B are spoken of apart where the spread between them has shrunk to this share of what it was. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """What was learned from the conductivities of a reservoir, and from buckets of its feed."""

    belief: Gaussian = field(
        default_factory=lambda: independent((0.0,) * 3, (CONCENTRATE_SD, CONCENTRATE_SD, VOLUME_SD))
    )
    before: Gaussian = field(
        default_factory=lambda: independent((0.0,) * 3, (CONCENTRATE_SD, CONCENTRATE_SD, VOLUME_SD))
    )
    """The same before anything was seen."""
    shares: tuple[float, ...] = (0.5, 0.5)
    """Of the feed's EC, by part. [-]"""
    from_feedings: int = 0
    from_top_ups: int = 0
    from_buckets: int = 0

    @property
    def times(self) -> float:
        """EC of all parts together, against the book. [-]"""
        return math.exp(self.belief.mean_of(self._together))

    @property
    def sd(self) -> float:
        """Spread of the logarithm of `times`. [-]"""
        return self.belief.sd_of(self._together)

    @property
    def ends(self) -> tuple[float, float]:
        """Beyond these nothing that was seen is believed of `times`: further where less was told of the feed. [-]"""
        told = self.before.sd_of((*self.shares, 0.0)) / math.hypot(*(CONCENTRATE_SD * share for share in self.shares))
        return 0.75**told, 1.5**told

    @property
    def volume_times(self) -> float:
        """Circulating volume against stick, channels and pipes. [-]"""
        return math.exp(self.belief.mean[-1])

    @property
    def volume_sd(self) -> float:
        """Spread of the logarithm of `volume_times`. [-]"""
        return self.belief.sd(len(self.shares))

    def proves(self, labelled: bool) -> bool:
        """Whether what a millilitre does is known from salts or was seen, and does not hang on a label."""
        return not labelled or (self.from_feedings + self.from_buckets > 0 and self.sd <= PROVEN_SD)

    @property
    def told_apart(self) -> bool:
        """Whether conductivities between A and B have shown how each of them is."""
        if len(self.shares) < 2:
            return False
        between = (1.0, -1.0, *(0.0,) * (len(self.shares) - 1))
        return self.belief.sd_of(between) < _TOLD_APART * self.before.sd_of(between)

    @property
    def _together(self) -> tuple[float, ...]:
        return (*self.shares, -1.0)

    def in_words(self) -> str:
        """What was learned, for the grower."""
        counts = ((self.from_feedings, "feeding"), (self.from_top_ups, "top-up"), (self.from_buckets, "bucket test"))
        seen = [f"{count} {word if count == 1 else word + 's'}" for count, word in counts if count]
        if not seen:
            return "No feeding was read before and after yet: the book's EC per mL is used."
        names = "ABCD"[: len(self.shares)]
        said = []
        if self.from_feedings or self.from_buckets:
            said.append(f"A millilitre of {' and '.join(names)} brings {self.times:.2f} times the EC of the book")
        if self.told_apart:
            alone = [f"{name} {'alone ' if name == 'A' else ''}{math.exp(self.belief.mean[number]):.2f}"
                     for number, name in enumerate(names)]  # fmt: skip
            said.append(", ".join(alone))
        low, high = (math.exp(self.belief.mean[-1] + z * self.volume_sd) for z in (-1.645, 1.645))
        said.append(f"{self.volume_times:.2f} times the litres of stick and pipes circulate ({low:.2f} to {high:.2f})")
        return f"{'; '.join(said)}, from {' and '.join(seen)}."


def strength_seen(
    ledger: Ledger, concentrates: Sequence[str], volume_sd: float = VOLUME_SD, feed: KnownFeed | None = None
) -> Strength:
    """What the latest feedings and top-ups have shown, and tests on purpose.

    Parameters
    ----------
    ledger : Ledger
        With conductivities read and liquids poured, oldest first.
    concentrates : sequence of str
        Ids of the parts of the feed.
    volume_sd : float
        How well the circulating volume is known by dip and channels: spread of its logarithm. [-]
    feed : KnownFeed, optional
        How far its parts are known beforehand; all as salts in a drum where it is left out. Buckets need it.
    """
    sds = [CONCENTRATE_SD for _ in concentrates] if feed is None else [doubt.ec_sd for doubt in feed.doubts]
    before = independent((0.0,) * (len(sds) + 1), (*sds, max(volume_sd, 0.02)))
    belief, feedings, top_ups, buckets = before, 0, 0, 0
    if feed is not None:
        for weights, ratio, sd in bucket_moves(ledger.tests, feed):
            belief, buckets = belief.seen_sum(weights, math.log(ratio), sd), buckets + (weights[0] > 0.0)
    for test in ledger.tests.volumes[-1:]:
        belief = belief.seen_sum((*(0.0,) * len(sds), 1.0), math.log(test.times), test.sd)
    for pair in _latest(_pairs(ledger.events), concentrates):
        moves = _moves(pair, concentrates, exact=feed is not None and feed.is_labelled)
        if moves is None:
            continue
        weights, ratio, sd = moves
        belief = belief.seen_sum(weights, math.log(ratio), sd)
        fed = any(weights[:-1])
        feedings, top_ups = feedings + fed, top_ups + (not fed)
    return Strength(
        belief=belief, before=before, shares=_shares(feed, len(sds)),
        from_feedings=feedings, from_top_ups=top_ups, from_buckets=buckets,
    )  # fmt: skip


def _shares(feed: KnownFeed | None, parts: int) -> tuple[float, ...]:
    """What each part brings of the feed's EC; alike for drums of salts, which are poured in like parts."""
    if feed is None or not feed.is_labelled:
        return (1.0 / parts,) * parts
    ecs = [ec25_ms_cm(brings, 6.0) for brings in feed.brings]
    return tuple(ec / math.fsum(ecs) for ec in ecs)


Pair = tuple[LedgerEvent, ...]
"""A conductivity, what was poured after it, and the next conductivity."""


def _pairs(events: Sequence[LedgerEvent]) -> list[Pair]:
    """Pairs of conductivities with liquids, and nothing that renews, between them."""
    pairs: list[Pair] = []
    run: list[LedgerEvent] = []
    for event in events:
        if event.what == "renewed":
            run = []
        elif event.what == "ec":
            if len(run) > 1 and event.at - run[0].at <= _WITHIN and any(e.what == "water" for e in run):
                pairs.append((*run, event))
            run = [event]
        elif run and event.what in ("water", "dose"):
            run.append(event)
    return pairs


def _latest(pairs: Sequence[Pair], concentrates: Sequence[str]) -> list[Pair]:
    """The last few feedings and the last few top-ups."""
    fed = [pair for pair in pairs if any(e.item in concentrates for e in pair[1:-1])]
    plain = [pair for pair in pairs if pair not in fed and sum(e.share for e in pair[1:-1]) > _LEAST_SHARE]
    return fed[-LATEST:] + plain[-LATEST:]


def _moves(pair: Pair, concentrates: Sequence[str], *, exact: bool) -> tuple[tuple[float, ...], float, float] | None:
    """How the parts and the volume weigh in what the book foresees, seen against foreseen, and its spread.

    None where the book foresees too little, or what was seen makes no sense.
    """
    before, after = pair[0], pair[-1]
    parts = [0.0] * (len(concentrates) + 1)
    book, shares = tuple(e.solution for e in pair[:-1]), tuple(e.share for e in pair[1:-1])
    ecs = _by_book(before.value, book, shares, exact)
    for event, was, now in zip(pair[1:-1], ecs, ecs[1:], strict=False):
        moved = now - was
        if event.item in concentrates:
            parts[list(concentrates).index(event.item)] += moved
            parts[-1] -= moved
        elif event.what == "water":
            parts[-1] -= moved * (1.0 - event.share)
    foreseen, seen = ecs[-1] - ecs[0], after.value - before.value
    if abs(foreseen) < _LEAST_MOVED_MS_CM or not _BELIEVABLE[0] <= seen / foreseen <= _BELIEVABLE[1]:
        return None
    sd = math.hypot(METER_MS_CM * math.sqrt(2.0) / foreseen, _OTHER_SD)
    return tuple(part / foreseen for part in parts), seen / foreseen, sd


@lru_cache(maxsize=64)
def _by_book(read: float, book: tuple[Solution, ...], shares: tuple[float, ...], exact: bool) -> tuple[float, ...]:
    """The conductivities the book foresees, its composition first brought to the one read at the start. [mS/cm]

    Parameters
    ----------
    book : tuple of Solution
        The book's composition at the start and after each liquid.
    shares : tuple of float
        Share of the mixture that each liquid makes up. [-]
    """
    there = book[0].scaled(share_at_ec(book[0], read, exact=exact))
    first = max(ec25_ms_cm(there, 6.0), 1e-6)
    ecs = [read]
    for was, then, share in zip(book, book[1:], shares, strict=False):
        there = _mixed(there, was, then, 1.0 - share)
        ecs.append(read * ec25_ms_cm(there, 6.0) / first)
    return tuple(ecs)


def _mixed(there: Solution, was: Solution, then: Solution, rest: float) -> Solution:
    """What is there once the liquid came in that brought the book from `was` to `then`."""
    totals = {
        name: max(0.0, rest * getattr(there, name) + getattr(then, name) - rest * getattr(was, name)) for name in TOTALS
    }
    return replace(there, **totals)
