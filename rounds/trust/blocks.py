"""Blocks: the lines of one month of a device that a key stands for; made of one's own, checked on those of others."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, tzinfo
from hashlib import sha256

import msgspec

from rounds.history.admission import Passing
from rounds.history.disk import Disk
from rounds.history.files import Key
from rounds.history.reading import read_month
from rounds.history.record import Record, month_of
from rounds.history.store import History
from rounds.trust.keys import KeyPair
from rounds.trust.standing import MOST_FAILED, Standing
from rounds.trust.statements import Block, is_sound, signed

Lines = list[tuple[int, bytes]]
"""Number and JSON of each line of a month."""


def digest_of(lines: Iterable[tuple[int, bytes]]) -> str:
    """The digest of lines in order of number."""
    return sha256(b"".join(body + b"\n" for _, body in lines)).hexdigest()


def months_to_sign(history: History, standing: Standing, key: str) -> list[Key]:
    """The months in which this device has written more than a key stands for, the newest first."""
    library = history.library
    own = (each for each in library.months() if each[0] == history.device and each in library.heads)
    return [each for each in own if library.heads[each].seq > _signed_to(standing, each, key)]


def block_of(history: History, month: Key, farm: str, pair: KeyPair, at: datetime) -> Block | None:
    """Sign what this device has written in a month; None where nothing can be read of it."""
    docs = read_month(Disk(), history.library.files(month)).docs
    lines = sorted(
        (doc["seq"], msgspec.json.encode(doc))
        for doc in docs
        if doc.get("device") == month[0] and isinstance(doc.get("seq"), int) and doc["seq"] > 0
    )
    if not lines:
        return None
    return signed(
        Block(
            farm=farm, device=month[0], month=month[1], first=lines[0][0], last=lines[-1][0], count=len(lines),
            digest=digest_of(lines), by=pair.public, at=at,
        ),
        pair,
    )  # fmt: skip


def newest_alone(blocks: Iterable[Block]) -> Iterator[Block]:
    """Leave out each block that a later one of the same month and key holds."""
    best: dict[tuple[str, str, str], Block] = {}
    for block in blocks:
        key = (block.device, block.month, block.by)
        if key not in best or best[key].last < block.last:
            best[key] = block
    return iter(best.values())


class Coverage:
    """Which lines of what comes in are as they were signed, month by month as they pass by."""

    def __init__(self, claims: Iterable[Block], farms: frozenset[str]) -> None:
        self.holding: list[Block] = []
        """Blocks whose lines are all there and as they were signed."""
        self._claims: dict[Key, list[Block]] = {}
        for claim in claims:
            if claim.farm in farms:
                self._claims.setdefault((claim.device, claim.month), []).append(claim)
        self._held: dict[Key, Block] = {}
        self._broken: dict[Key, int] = {}
        self._failed = 0
        self._month: Key | None = None
        self._passing: tuple[str, int, int, tzinfo | None] | None = None
        """The month that passes by, as it is quickly told from the next one."""
        self._lines: Lines = []

    def see(self, record: Passing, body: bytes) -> None:
        """Look at a line of what comes in."""
        if not self._claims:
            return
        at = record.measured_at
        if (record.device, at.year, at.month, at.tzinfo) != self._passing:
            month = record.device, month_of(at)
            if month != self._month:
                self.settle()
                self._month = month
            self._passing = record.device, at.year, at.month, at.tzinfo if at.tzinfo is UTC else None
        self._lines.append((record.seq, body))

    def settle(self) -> None:
        """Hold the lines of the month that passed by against what is claimed of them, the widest claim first."""
        month, lines, self._lines = self._month, sorted(set(self._lines)), []
        claims = self._claims.get(month, []) if month is not None and month not in self._held else []
        for claim in sorted(claims, key=lambda each: -each.last):
            if self._failed > MOST_FAILED:
                return
            if not is_sound(claim):
                self._failed += 1
                continue
            inside = [each for each in lines if each[0] <= claim.last]
            if len(inside) == claim.count and digest_of(inside) == claim.digest:
                self._held[claim.device, claim.month] = claim
                self.holding.append(claim)
                return
            self._failed += 1
            self._broken[claim.device, claim.month] = max(claim.last, self._broken.get((claim.device, claim.month), 0))

    def signer_of(self, record: Record) -> str:
        """The key that stands for a record as it is; empty where none does."""
        block = self._held.get((record.device, month_of(record.measured_at))) if self._held else None
        return block.by if block is not None and record.seq <= block.last else ""

    def is_altered(self, record: Record) -> bool:
        """Tell whether a key has signed a record of this number, but not these lines."""
        if not self._broken:
            return False
        return record.seq <= self._broken.get((record.device, month_of(record.measured_at)), 0)


def _signed_to(standing: Standing, month: Key, key: str) -> int:
    return max((block.last for block in standing.blocks.get(month, ()) if block.by == key), default=0)
