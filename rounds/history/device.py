"""Who writes here: a name for this laptop and this farm folder that no copy of the folder inherits.

The name is kept on the laptop, beside the path of the folder and the last number written. A copy on another laptop or
in another place finds no name there; a folder that was set back from a backup holds fewer records than were written.
Either gets a new name, so that no number is ever used twice.
"""

import os
import re
import tempfile
from hashlib import blake2b
from pathlib import Path

import msgspec

from rounds.errors import NotSaved
from rounds.history.disk import Disk
from rounds.history.lock import FolderLock

DEVICE_PATTERN = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}\Z")


class Known(msgspec.Struct):
    """What this laptop remembers of its name in one farm folder."""

    device: str
    path: str
    seq: int = 0
    fixed: bool = False
    """Whether the name was given by the caller, and is nothing to remember."""
    instead_of: str = ""
    """The name it had here before, where it took another."""


def new_name() -> str:
    return f"d-{os.urandom(6).hex()}"


def recall(folder: Path, state: Path | None = None) -> Known:
    """Give this laptop's name for a history folder; a new one where it has none.

    Parameters
    ----------
    folder : Path
        The history folder, there already or not.
    state : Path, optional
        Where the laptop keeps such names; its usual place for them where not given. Folders below the place for
        temporary files then get a name of their own without anything being kept.
    """
    known = _known_here(folder, state)
    if known is not None:
        return known
    kept_nowhere = state is None and _is_scratch(folder)
    device = _name_by_place(folder) if kept_nowhere else new_name()
    return Known(device=device, path=os.path.realpath(folder))


def _known_here(folder: Path, state: Path | None) -> Known | None:
    try:
        known = msgspec.json.decode(_state_file(folder, state).read_bytes(), type=Known)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
        return None
    return known if DEVICE_PATTERN.match(known.device) else None


def claim(folder: Path, known: Known, state: Path | None = None) -> str:
    """Give the name to write under for the first time: of several windows that begin at once, the first one's.

    Parameters
    ----------
    known : Known
        The name that this one would take.
    """
    if state is None and _is_scratch(folder):
        return known.device
    path = _state_file(folder, state)
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        lock = FolderLock(path.with_suffix(".lock"), Disk())
        lock.take()
        try:
            return _claimed(folder, known, state)
        finally:
            lock.release()
            lock.close()
    except (OSError, NotSaved):
        return known.device


def _claimed(folder: Path, known: Known, state: Path | None) -> str:
    there = _known_here(folder, state)
    if there is not None and there.device != known.instead_of:
        return there.device
    remember(folder, known.device, 0, state)
    return known.device


def remember(folder: Path, device: str, seq: int, state: Path | None = None) -> None:
    """Keep the name and the last number; where that fails, the next start takes a new name, which harms nothing."""
    if state is None and _is_scratch(folder):
        return
    path = _state_file(folder, state)
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        spare = path.with_suffix(f".{os.getpid()}.tmp")
        spare.write_bytes(msgspec.json.encode(Known(device=device, path=os.path.realpath(folder), seq=seq)))
        spare.replace(path)
    except OSError:
        return


def _name_by_place(folder: Path) -> str:
    where = f"{_machine()} {os.path.realpath(folder)}"
    return f"d-{blake2b(where.encode(), digest_size=6).hexdigest()}"


def _is_scratch(folder: Path) -> bool:
    return Path(os.path.realpath(folder)).is_relative_to(os.path.realpath(tempfile.gettempdir()))


def _machine() -> str:
    for name in ("/etc/machine-id", "/var/lib/dbus/machine-id"):
        try:
            return Path(name).read_text().strip()
        except OSError:
            continue
    return os.environ.get("COMPUTERNAME", "")


def state_folder(state: Path | None = None) -> Path:
    """Give the folder in which this user's laptop keeps what belongs in no farm's folder."""
    local = os.environ.get("LOCALAPPDATA") if os.name == "nt" else os.environ.get("XDG_STATE_HOME")
    return (state or (Path(local) if local else Path.home() / ".local" / "state")) / "rounds"


def _state_file(folder: Path, state: Path | None) -> Path:
    where = blake2b(os.path.realpath(folder).encode(errors="surrogateescape"), digest_size=12).hexdigest()
    return state_folder(state) / "devices" / f"{where}.json"
