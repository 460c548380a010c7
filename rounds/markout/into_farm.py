"""A plan written into farm.toml: comments, order and everything else stay, and the difference is shown before."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rounds.errors import BadInput, Refused
from rounds.farm.rewriting import FARM_FILE, Change, check_result, parsed, read_text
from rounds.farm.splice import with_changed, with_new
from rounds.markout.channel_entry import channel_entry
from rounds.markout.plan import ChannelPlan

_NO_CROP = "none yet"


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
    path, before = read_text(farm_folder)
    data = parsed(before)
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
    check_result(data, parsed(after), channel_id, expected)
    return Change(path=path, before=before, after=after)


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
