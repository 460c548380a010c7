"""A plan written into farm.toml: comments, order and everything else stay, and the difference is shown before."""

from __future__ import annotations

import contextlib
import difflib
import os
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rounds.errors import BadInput, NotFound, NotSaved, Refused
from rounds.farm.toml_slips import Slip, read_tables
from rounds.markout.channel_entry import channel_entry
from rounds.markout.plan import ChannelPlan
from rounds.markout.splice import with_changed, with_new

FARM_FILE = "farm.toml"
_NO_CROP = "none yet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What would be written: the file as it is and as it would be."""

    path: Path
    before: str
    after: str

    @property
    def is_new(self) -> bool:
        """Whether there is anything to write."""
        return self.before != self.after

    def preview(self) -> str:
        """The difference as a unified diff; empty where nothing changes."""
        before, after = self.before.splitlines(), self.after.splitlines()
        top = _alike(before, after)
        end = _alike(before[top:][::-1], after[top:][::-1])
        old, new = (lines[max(0, top - 2) : len(lines) - max(0, end - 2)] for lines in (before, after))
        changed = difflib.unified_diff(old, new, f"{FARM_FILE} now", f"{FARM_FILE} then", n=2, lineterm="")
        return "\n".join(line for line in changed if not line.startswith("@@"))


def prepare(farm_folder: Path, plan: ChannelPlan, *, channel_id: str, name: str = "", reservoir: str = "") -> Change:
    """Work out what farm.toml would become, without writing.

    Parameters
    ----------
    farm_folder : Path
        The folder with farm.toml.
    plan : Plan
        The channel.
    channel_id : str
        Id of the channel; a new one is put behind the last channel, a known one is changed in place.
    name, reservoir : str
        Needed for a new channel; for a known one only where they change.

    Returns
    -------
    Change
        To be shown, and then handed to `write`.

    Raises
    ------
    NotFound
        Where there is no farm.toml.
    BadInput
        Where farm.toml is no TOML, or id, name or reservoir do not fit it.
    Refused
        Where the id belongs to another kind of station, or more is planted than the new sites hold.
    """
    path, before = _read(farm_folder)
    data = _parsed(before)
    known = next((s for s in data.get("stations", []) if s.get("id") == channel_id), None)
    _check_reservoir(data, reservoir, needed=known is None)
    wanted = channel_entry(plan) | ({"crop": plan.inputs.crop} if plan.inputs.crop else {})
    wanted |= ({"name": name} if name else {}) | ({"reservoir": reservoir} if reservoir else {})
    if known is None:
        entry = {"kind": "channel", "id": channel_id, "name": name or channel_id, "reservoir": reservoir,
                 "crop": _NO_CROP, "planted": 0} | wanted  # fmt: skip
        after = with_new(before, entry)
        expected = entry
    else:
        _check_known(known, wanted)
        after = with_changed(before, channel_id, wanted)
        expected = {**known, **wanted, "build": {**known.get("build", {}), **wanted["build"]}}
    _check_model(expected)
    _check_result(data, _parsed(after), channel_id, expected)
    return Change(path=path, before=before, after=after)


def write(change: Change) -> None:
    """Write a prepared change durably: whole or not at all.

    Raises
    ------
    Refused
        Where the file has changed since the preview.
    NotSaved
        Where the disk refuses; the file is then as it was.
    """
    _, now = _read(change.path.parent)
    if now != change.before:
        raise Refused(f"{FARM_FILE} has changed since the preview.", "Look at the difference again, then write.")
    target = change.path.resolve()
    handle, unfinished = -1, ""
    try:
        handle, unfinished = tempfile.mkstemp(prefix=".farm-", suffix=".toml", dir=target.parent)
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(change.after)
            file.flush()
            os.fsync(file.fileno())
        Path(unfinished).chmod(target.stat().st_mode & 0o777)
        Path(unfinished).replace(target)
        _sync_folder(target.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(unfinished).unlink(missing_ok=True)
        raise NotSaved(f"{FARM_FILE} could not be written: {error.strerror}.", "It is as it was before.") from error


def _read(farm_folder: Path) -> tuple[Path, str]:
    path = farm_folder / FARM_FILE
    try:
        return path, path.read_bytes().decode("utf-8")
    except (FileNotFoundError, NotADirectoryError) as error:
        raise NotFound(
            f"{farm_folder} is not a farm folder: it has no {FARM_FILE}.", "Give the farm's folder."
        ) from error
    except UnicodeDecodeError as error:
        raise BadInput(f"{FARM_FILE} is not UTF-8 text.", "Save it as UTF-8.") from error
    except OSError as error:
        raise NotFound(f"{path} cannot be read: {error.strerror}.") from error


def _parsed(text: str) -> dict[str, Any]:
    read = read_tables(text.encode())
    if isinstance(read, Slip):
        where = f"line {read.line}, column {read.column}"
        raise BadInput(f"{FARM_FILE}, {where} can't be read: {read.how}.", f"\n{read.picture}")
    return read


def _check_reservoir(data: dict[str, Any], reservoir: str, *, needed: bool) -> None:
    there = [s.get("id") for s in data.get("stations", []) if s.get("kind") == "reservoir"]
    if not reservoir and not needed:
        return
    if reservoir not in there:
        said = (
            f"There is no reservoir “{reservoir}” in {FARM_FILE}." if reservoir else "A new channel needs a reservoir."
        )
        raise BadInput(said, f"One of {', '.join(map(str, there)) or '(none yet)'} is expected.")


def _check_known(known: dict[str, Any], wanted: dict[str, Any]) -> None:
    if known.get("kind") != "channel":
        raise Refused(f"“{known.get('id')}” is a {known.get('kind')}, not a channel.", "Choose another id.")
    if known.get("planted", 0) > wanted["sites"]:
        raise Refused(
            f"{known['planted']} plants stand in {known.get('id')}, and the new plan has {wanted['sites']} sites.",
            "Put planted right first.",
        )


def _check_model(entry: dict[str, Any]) -> None:
    from rounds.farm.reading_files import MistakeList, read_part
    from rounds.farm.stations import Channel

    mistakes = MistakeList()
    read_part(entry, Channel, FARM_FILE, "stations", mistakes)
    if mistakes:
        raise BadInput("\n".join(str(mistake) for mistake in mistakes))


def _check_result(before: dict[str, Any], after: dict[str, Any], channel_id: str, expected: dict[str, Any]) -> None:
    """Whatever the text looks like, the farm that is read from it must be the old one and this channel."""

    def others(data: dict[str, Any]) -> list[Any]:
        return [s for s in data.get("stations", []) if s.get("id") != channel_id]

    rest_is_same = {**before, "stations": 0} == {**after, "stations": 0} and others(before) == others(after)
    entries = [s for s in after.get("stations", []) if s.get("id") == channel_id]
    if not rest_is_same or entries != [expected]:
        raise Refused(f"The channel could not be placed in {FARM_FILE} without changing something else.",
                      "Write it in by hand; the command line shows the values with --json.")  # fmt: skip


def _alike(one: Sequence[str], other: Sequence[str]) -> int:
    """How many lines at the start are the same."""
    same = 0
    while same < min(len(one), len(other)) and one[same] == other[same]:
        same += 1
    return same


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
