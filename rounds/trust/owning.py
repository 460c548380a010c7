"""What the owner of a farm's folder says of keys: this one is mine, this one too, this one is lost."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from rounds.errors import BadInput, NotFound, Refused
from rounds.history.beside import beside
from rounds.history.store import History
from rounds.trust.keys import KEY_DIGITS, KeyPair, code_of, made_own_pair, own_pair
from rounds.trust.signing import sign, signing_pair, standing_of, stated
from rounds.trust.standing import Rank, Standing
from rounds.trust.statements import Block, Introduced, Mine, Revoked, Statement, clean_name, read, signed

_A_KEY = "Give its code, its 64 digits, or the folder or bundle that it has signed: `rounds keys FARM` shows codes."


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownKey:
    """A key that this farm has heard of."""

    key: str
    rank: Rank
    name: str
    here: bool
    """Whether this laptop signs with it in this folder."""
    days: tuple[str, str] | None
    records: int
    """How many records it stands for here."""

    @property
    def code(self) -> str:
        """Its short name."""
        return code_of(self.key)


def known_keys(history: History, state: Path | None = None) -> list[KnownKey]:
    """Every key that a farm has heard of, this laptop's own first. Nothing is written, and no key made."""
    standing = standing_of(history)
    here = signing_pair(standing, state=state)
    own = here.public if here is not None else ""
    heard = [own, *standing.mine, *standing.introduced, *standing.granted, *standing.revoked, *_signers(standing)]
    return [_known(standing, key, own) for key in dict.fromkeys(heard) if key]


def doubt(history: History, state: Path | None = None) -> str:
    """Say that this laptop's key is not the grower's here; empty where it is."""
    standing = standing_of(history)
    pair = signing_pair(standing, state=state)
    if pair is None or standing.rank(pair.public) == "grower":
        return ""
    return (
        f"This laptop's key {code_of(pair.public)} is not introduced on this farm: what comes back will not be known "
        "as the helper's. See  rounds keys --help"
    )


def say_mine(history: History, now: datetime, state: Path | None = None) -> str:
    """Say that this laptop's key is the grower's, by the right of having the folder; give its code.

    It needs no other key, so nobody is locked out of a farm. It counts in this folder and its copies alone: another
    laptop takes it up by an introduction, or by saying the same in its own folder.

    Raises
    ------
    NotSaved
        Where it could not be kept.
    """
    own = made_own_pair(state)
    stated(history, [Mine(key=own.public, at=now)])
    sign(history, now, state=state)
    return code_of(own.public)


def introduce(history: History, which: str, name: str, now: datetime, state: Path | None = None) -> str:
    """Introduce another key as the grower's; give its code.

    Parameters
    ----------
    which : str
        Its code, its digits, or a folder or bundle that it has signed.

    Raises
    ------
    BadInput, NotFound
        Where no key, or more than one, is meant.
    Refused
        Where this laptop's key is not the grower's itself.
    """
    standing, own, farm = _as_grower(history, now, state)
    key = _meant(which, standing)
    if standing.rank(key) == "revoked":
        raise Refused(f"The key {code_of(key)} was revoked.", "Let that laptop say `rounds keys FARM --mine` anew.")
    stated(history, [signed(Introduced(farm=farm, key=key, name=name, by=own.public, at=now), own)])
    return code_of(key)


def revoke(history: History, which: str, now: datetime, state: Path | None = None) -> str:
    """Revoke a key: what it has signed and is here stays, nothing more comes in under it. Raises as `introduce`."""
    standing, own, farm = _as_grower(history, now, state)
    key = _meant(which, standing)
    if key == own.public:
        raise Refused("That is the key of this laptop.", "Revoke it from another one that is introduced.")
    stated(history, [signed(Revoked(farm=farm, key=key, by=own.public, at=now), own)])
    return code_of(key)


def _as_grower(history: History, now: datetime, state: Path | None) -> tuple[Standing, KeyPair, str]:
    standing, own = sign(history, now, state=state), own_pair(state)
    if own is None or standing.rank(own.public) != "grower" or not standing.farm_ids:
        raise Refused(
            "This laptop's key is not the grower's on this farm.",
            "Have it introduced on one whose key is, or say `rounds keys FARM --mine` where the farm is yours.",
        )
    return standing, own, min(standing.farm_ids)


def _meant(which: str, standing: Standing) -> str:
    """The key that is meant by a code, by its digits, or by what it has signed."""
    word = which.strip().casefold()
    if len(word) == KEY_DIGITS and not set(word) - set("0123456789abcdef"):
        return word
    heard = {*standing.mine, *standing.introduced, *standing.granted, *standing.revoked, *_signers(standing)}
    found = {key for key in heard if code_of(key) == word}
    if not found and Path(which).exists():
        found = _signers_in(read(beside(Path(which)).statements)) - set(standing.mine) - set(standing.introduced)
    if not found:
        raise NotFound(f"No key is known by “{clean_name(which)}”.", _A_KEY)
    if len(found) > 1:
        raise BadInput(f"More than one key is meant: {', '.join(sorted(map(code_of, found)))}.", "Give one code.")
    return found.pop()


def _signers(standing: Standing) -> set[str]:
    return {block.by for some in standing.blocks.values() for block in some}


def _signers_in(statements: Iterable[Statement]) -> set[str]:
    return {each.by for each in statements if isinstance(each, Block)} | {
        each.key for each in statements if isinstance(each, Mine)
    }


def _known(standing: Standing, key: str, own: str) -> KnownKey:
    grant, said = standing.granted.get(key), standing.introduced.get(key)
    widest: dict[tuple[str, str], int] = {}
    for month, some in standing.blocks.items():
        widest[month] = max((each.count for each in some if each.by == key), default=0)
    return KnownKey(
        key=key,
        rank=standing.rank(key),
        name=clean_name(grant.person if grant is not None else said.name if said is not None else ""),
        here=key == own,
        days=(grant.first.isoformat(), grant.last.isoformat()) if grant is not None else None,
        records=sum(widest.values()),
    )
