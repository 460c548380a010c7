"""What stands in a channel now: what the farm's files say, with what was planted, pulled, lost and cut since."""

from __future__ import annotations

from datetime import date, tzinfo

import msgspec

from rounds.book.doings import Doing
from rounds.farm.stations import Channel

PLANTED = "planted"
TAKEN_OUT = frozenset({"pulled", "lost", "cut"})
"""Verbs that free sites; what is cut and regrows stays."""


class Plants(msgspec.Struct):
    """What changed in one channel since its file was written."""

    filed: int | None = None
    """What the file said then: where it says something else by now, it is newer. [plants]"""
    now: int = 0
    """How many stand there. [plants]"""
    planted_on: date | None = None
    """When the channel was planted anew; None where what the file says still stands."""
    crop: str = ""
    """What was planted then; empty where nobody said."""


def with_doing(plants: Plants, doing: Doing, zone: tzinfo) -> Plants:
    """Take in what happened in a channel; what neither plants nor takes out changes nothing."""
    number, filed = doing.number, doing.filed_count
    comes, goes = doing.verb == PLANTED, doing.verb in TAKEN_OUT and not doing.regrows
    if number is None or not (comes or goes):
        return plants
    if filed is not None and plants.filed != filed:
        plants = Plants(filed=filed, now=filed)
    if goes:
        plants.now = max(0, plants.now - round(number))
        return plants
    if plants.now == 0:
        plants.planted_on, plants.crop = doing.measured_at.astimezone(zone).date(), doing.crop
    plants.now += round(number)
    return plants


def channel_now(channel: Channel, plants: Plants) -> Channel:
    """The channel as it is now; never more plants than sites.

    A file that was written anew since, or that names a later day of planting, is newer than what was told.
    """
    on = plants.planted_on
    if plants.filed != channel.planted or (channel.planted_on and on and channel.planted_on > on):
        return channel
    if plants.now == 0:
        return msgspec.structs.replace(channel, planted=0, planted_on=None)
    return msgspec.structs.replace(
        channel, planted=min(plants.now, channel.sites), planted_on=on or channel.planted_on,
        crop=plants.crop or channel.crop,
    )  # fmt: skip
