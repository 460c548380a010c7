"""Signing in blocks what a device has written: when it hands over or closes a round, never while it saves."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

from rounds.errors import NotSaved
from rounds.history.store import History
from rounds.trust.blocks import block_of, months_to_sign, newest_alone
from rounds.trust.keys import KeyPair, kept_pair, made_own_pair, own_pair
from rounds.trust.standing import Standing
from rounds.trust.statements import Block, Granted, Mine, Statement, read, signed, written

MONTHS_BESIDE = 3
"""So many months are signed at most when a round is closed: those of a long history wait for a bundle or a backup."""
MOST_LEFT_BEHIND = 200
"""Blocks that later ones hold are dropped when there are more."""


def standing_of(history: History) -> Standing:
    """Read what stands in a farm's folder."""
    return Standing(read(history.statements()))


def signing_pair(standing: Standing, *, make: bool = False, state: Path | None = None) -> KeyPair | None:
    """The key with which this laptop signs here: the user's own, or in a folder from a bundle the one it brought.

    Raises
    ------
    NotSaved
        Where a key is to be made and cannot be kept.
    """
    if standing.opened_with:
        return kept_pair(standing.opened_with, state)
    return made_own_pair(state) if make else own_pair(state)


def sign(history: History, now: datetime, *, most_months: int | None = None, state: Path | None = None) -> Standing:
    """Sign what this device has written and nobody stands for yet; give how the keys stand then.

    The first key that signs on a farm is the grower's: whoever has the folder has the farm. In a folder that was opened
    from a bundle only the bundle's key signs. Where nothing may be written nothing is signed.

    Raises
    ------
    NotSaved
        Where a key or a block could not be kept.
    """
    standing = standing_of(history)
    if history.read_only:
        return standing
    farms = history.identify()
    pair = signing_pair(standing, make=True, state=state)
    if pair is None or not farms:
        return standing
    said: list[Statement] = []
    if not standing.mine and not standing.opened_with:
        said.append(Mine(key=pair.public, at=now))
    for month in months_to_sign(history, standing, pair.public)[:most_months]:
        block = block_of(history, month, min(farms), pair, now)
        said += [block] if block is not None else []
    return stated(history, said)


def stated(history: History, statements: list[Statement]) -> Standing:
    """Write statements down, without what they make superfluous; give how the keys stand then. Raises as `sign`."""
    bodies = list(dict.fromkeys([*history.statements(), *map(written, statements)]))
    there = read(bodies)
    blocks = [each for each in there if isinstance(each, Block)]
    past = {written(each) for each in blocks} - {written(each) for each in newest_alone(blocks)}
    if len(past) > MOST_LEFT_BEHIND:
        history.state([written(each) for each in statements], without=past)
    elif statements:
        history.state([written(each) for each in statements])
    return Standing(there)


def granted(
    history: History, person: str, first: date, last: date, now: datetime, *, state: Path | None = None
) -> tuple[KeyPair, Granted] | None:
    """Make a key for a helper's time of relief, and write down that it was made; None where the farm has no id.

    The same absence has the same key, however often its bundle is made; after that was revoked another.

    Raises
    ------
    NotSaved
        Where this user's own key could not be kept.
    """
    farms, own, standing = history.identify(), made_own_pair(state), standing_of(history)
    if not farms:
        return None
    for_what = f"{min(farms)} {person} {first} {last}"
    some = (own.derived(f"relief {number} {for_what}") for number in range(len(standing.revoked) + 1))
    pair = next(each for each in some if each.public not in standing.revoked)
    said = standing.granted.get(pair.public)
    if said is None:
        fresh = Granted(farm=min(farms), key=pair.public, person=person, first=first, last=last, by=own.public, at=now)
        said = signed(fresh, own)
        if not history.read_only:
            stated(history, [said])
    return pair, said


def sign_quietly(history: History, now: datetime) -> None:
    """Sign beside everything else, when a round was closed: what cannot be signed now is signed another time."""
    try:
        sign(history, now, most_months=MONTHS_BESIDE)
    except NotSaved as error:
        history.warn(f"What was written is saved, but not signed: {error.sentence}")
