"""Key pairs (Ed25519, RFC 8032): kept in the user's own state folder, never in a farm's; loaded only when needed."""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass
from hashlib import blake2b, sha256
from pathlib import Path

import msgspec

from rounds.errors import NotSaved
from rounds.history.device import state_folder
from rounds.history.disk import Disk, make_folder, write_new

OWN = "own"
KEY_DIGITS, SIGNATURE_DIGITS = 64, 128
_PURPOSE = b"rounds statement 1\n"
"""Signed with every statement, so that a signature given for something else proves nothing here."""


@dataclass(frozen=True, slots=True)
class KeyPair:
    """A private key; whoever has it can sign in its name."""

    seed: bytes

    def __post_init__(self) -> None:
        """A seed has 32 bytes.

        Raises
        ------
        ValueError
            Where it has not.
        """
        if len(self.seed) != 32:
            raise ValueError("A private key has 32 bytes.")

    def derived(self, purpose: str) -> KeyPair:
        """A key for one purpose that whoever has this one can make again, and nobody can lead back to it."""
        return KeyPair(blake2b(purpose.encode(), key=self.seed, digest_size=32).digest())

    @property
    def public(self) -> str:
        """The public key, as 64 hexadecimal digits."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        return Ed25519PrivateKey.from_private_bytes(self.seed).public_key().public_bytes_raw().hex()

    def sign(self, data: bytes) -> str:
        """Sign bytes; the signature, as 128 hexadecimal digits."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        return Ed25519PrivateKey.from_private_bytes(self.seed).sign(_PURPOSE + data).hex()


class _Kept(msgspec.Struct, forbid_unknown_fields=True):
    seed: str


def new_pair() -> KeyPair:
    """Make a key pair by chance."""
    return KeyPair(os.urandom(32))


def is_signed(data: bytes, signature: str, public: str) -> bool:
    """Tell whether a signature over bytes was made with the private half of a key; False for what is no key."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    if len(public) != KEY_DIGITS or len(signature) != SIGNATURE_DIGITS:
        return False
    try:
        key, mark = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public)), bytes.fromhex(signature)
        key.verify(mark, _PURPOSE + data)
    except (InvalidSignature, ValueError):
        return False
    return True


def code_of(public: str) -> str:
    """Give the short name of a public key, to be compared by eye: 80 bits of its SHA-256.

    Examples
    --------
    >>> code_of("00" * 32)
    '6668-7aad-f862-bd77-6c8f'
    """
    digits = sha256(bytes.fromhex(public)).hexdigest()[:20]
    return "-".join(digits[at : at + 4] for at in range(0, 20, 4))


def own_pair(state: Path | None = None) -> KeyPair | None:
    """Give this user's own key; None where it was never needed."""
    return _read(_place(OWN, state))


def made_own_pair(state: Path | None = None) -> KeyPair:
    """Give this user's own key, made on first need.

    Raises
    ------
    NotSaved
        Where it could not be kept.
    """
    found = own_pair(state)
    if found is None:
        keep_pair(new_pair(), OWN, state)
        found = own_pair(state)  # another window may have been first
    if found is None:
        raise NotSaved(f"The key in {_place(OWN, state)} cannot be read.", "Put it right, or move it away.")
    return found


def kept_pair(public: str, state: Path | None = None) -> KeyPair | None:
    """Give a key that was handed to this user for a time of relief; None where it is not here."""
    found = _read(_place(public[:KEY_DIGITS], state)) if public.isalnum() else None
    return found if found is not None and found.public == public else None


def keep_pair(pair: KeyPair, name: str = "", state: Path | None = None, *, disk: Disk | None = None) -> None:
    """Keep a key for this user alone, durably; one of that name that is there stays.

    Raises
    ------
    NotSaved
        Where it could not be written.
    """
    path, disk = _place(name or pair.public, state), disk or Disk()
    try:
        make_folder(disk, path.parent)
        if not path.exists():
            _write_once(disk, path, msgspec.json.encode(_Kept(pair.seed.hex())))
    except OSError as error:
        raise NotSaved(
            f"The key could not be kept in {path.parent}: {error.strerror or error}.",
            "Without it nothing can be signed. Allow writing there.",
        ) from error


def _write_once(disk: Disk, path: Path, data: bytes) -> None:
    """Write a file as a whole; of two windows that would at once, the first one's stays."""
    mine = path.with_suffix(f".{os.getpid()}-{os.urandom(4).hex()}")
    try:
        write_new(disk, mine, data)
        disk.link(mine, path)
        disk.sync_folder(path.parent)
    except FileExistsError:
        return
    finally:
        with suppress(OSError):
            disk.unlink(mine)


def _place(name: str, state: Path | None) -> Path:
    return state_folder(state) / "keys" / f"{name}.json"


def _read(path: Path) -> KeyPair | None:
    try:
        return KeyPair(bytes.fromhex(msgspec.json.decode(path.read_bytes(), type=_Kept).seed))
    except (OSError, ValueError, msgspec.MsgspecError):
        return None
