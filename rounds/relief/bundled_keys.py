"""What a bundle carries of keys: one to sign with on the days of relief, and what is stated of keys and lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rounds.errors import BadInput
from rounds.history.farm_id import FarmId
from rounds.history.journal import sealed
from rounds.history.statements import STATEMENTS
from rounds.history.store import History
from rounds.trust.keys import KeyPair
from rounds.trust.signing import granted, sign
from rounds.trust.statements import Block, Granted, Introduced, Opened, Revoked, Statement, read, written

if TYPE_CHECKING:
    from rounds.relief.sheet import Relief
    from rounds.walk.session import Session


def relief_key(session: Session, relief: Relief) -> tuple[str, dict[str, bytes]]:
    """Make a key for these days: its private half, and the file of what is stated of keys.

    No key where the farm's folder cannot say which farm it is.

    Raises
    ------
    NotSaved
        Where this laptop's own key, with which it is granted, could not be kept.
    """
    history, now = session.history, session.now()
    sign(history, now)
    made = granted(history, relief.person.id, relief.days[0], relief.days[-1], now)
    said: list[Statement] = [each for each in read(history.statements()) if not isinstance(each, Opened)]
    if made is None:
        return "", _statements(history, said)
    pair, grant = made
    said += [grant] if grant not in said else []
    return pair.seed.hex(), _statements(history, [*said, Opened(key=pair.public)])


def handed_back(history: History) -> dict[str, bytes]:
    """What goes back with this laptop's own records: what is stated of keys, and the blocks of this device."""
    said = read(history.statements())
    of_keys = [each for each in said if isinstance(each, FarmId | Introduced | Granted | Revoked)]
    return _statements(history, [*of_keys, *(b for b in said if isinstance(b, Block) and b.device == history.device)])


def read_relief_key(seed: str) -> KeyPair:
    """Read the private half of a bundle's key.

    Raises
    ------
    BadInput
        Where it is none.
    """
    try:
        return KeyPair(bytes.fromhex(seed))
    except ValueError as error:
        raise BadInput("The helper's key in the bundle cannot be read.", "Have it made again.") from error


def _statements(history: History, said: Sequence[Statement]) -> dict[str, bytes]:
    first = sorted(said, key=lambda each: not isinstance(each, FarmId))
    data = b"".join(sealed(written(each)) for each in first)
    return {f"history/{history.device}/{STATEMENTS}": data} if data else {}
