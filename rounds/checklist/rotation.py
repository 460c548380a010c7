"""Which checks are asked one by one today, so that "all well" does not become a habit."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from zlib import crc32

Pair = tuple[str, str]
"""A station id and an item id."""
ASKED_A_DAY = 2


def asked_today(all_pairs: Collection[Pair], due: Collection[Pair], day: date, count: int = ASKED_A_DAY) -> set[Pair]:
    """Choose the checks of the rotation that are asked outright on a day.

    The order is a shuffle that stays the same; each day takes the next few, so that every check has its turn. A check
    that is not due hands its turn on to the next one.

    Parameters
    ----------
    all_pairs : collection of (station id, item id)
        Everything in the rotation, due or not.
    due : collection of (station id, item id)
        What may be asked today.
    """
    order = sorted(all_pairs, key=lambda pair: (crc32("/".join(pair).encode()), pair))
    if not order:
        return set()
    start = day.toordinal() * count % len(order)
    turned = order[start:] + order[:start]
    return set([pair for pair in turned if pair in due][:count])
