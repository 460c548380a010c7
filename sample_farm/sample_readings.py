"""Weather, hens, streams and casks of the sample farm: what an instrument would show on a day."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from zlib import crc32

from sample_basin import Basin
from sample_story import CASK_FILLED, DRIFT, HEN_LOST, HOT_WEEK, LAST_DAYS

from rounds.checklist.model import Item
from rounds.farm.volumes import litres_to_dip


class Nature:
    """The farm on one day after the other."""

    def __init__(self, basins: Mapping[str, Basin], until: date, chance: random.Random) -> None:
        self.basins, self.until, self.chance = basins, until, chance
        self.before, self.day = 0, until
        self.outside_c, self.tank_cm, self.lay = 12.0, 120.0, 0.82
        self.cleaned_on: date | None = None
        self.first_day: date | None = None
        self.noon = False

    @property
    def inside_c(self) -> float:
        return max(11.5, 0.75 * self.outside_c + 6.5)

    @property
    def water_c(self) -> float:
        """A heater keeps the feed from getting cold."""
        return max(16.8, 0.8 * self.inside_c + 2.5)

    @property
    def birds(self) -> int:
        return 24 if self.before >= HEN_LOST else 23

    def new_day(self, before: int) -> None:
        """Let a night pass."""
        self.before, self.day = before, self.until - timedelta(days=before)
        self.first_day = self.first_day or self.day
        hot = self.before in HOT_WEEK
        season = math.cos((self.day.timetuple().tm_yday - 200) / 365.25 * 2 * math.pi)
        self.outside_c = 9.5 + 9.0 * season + self.chance.gauss(0, 1.6) + (9.0 if hot else 0.0)
        self.lay += (0.72 + 0.06 * season - (0.12 if hot else 0.0) - self.lay) * 0.3
        self.tank_cm = min(150.0, max(45.0, self.tank_cm - 1.1 + max(0.0, self.chance.gauss(-2, 5))))
        for name, basin in self.basins.items():
            self._grow(name, basin, hot)

    def value(self, station: str, kind: str, item: Item) -> float:
        """What is read, unrounded."""
        if station in self.basins:
            return self._in_basin(self.basins[station], item.id)
        reader = {
            "air": self._air, "channel": self._channel, "tank": self._tank, "ferment": self._ferment,
            "hens": self._hens,
        }.get(kind)  # fmt: skip
        if reader is not None:
            return reader(station, item.id)
        if kind == "seedlings":
            return 20.5 + self._noise(0.7)
        if kind == "trees":
            return 240 + 12 * max(0.0, self.outside_c - 12) + self._noise(15)
        return 0.6 * self.outside_c + 5 + self._noise(0.6)

    def flow(self, channel: str) -> float:
        """Streams hold, but for that of channel 5, whose filter clogs, is cleaned, and clogs again."""
        if channel != "channel-5" or self.first_day is None:
            return 1.0 + 0.03 * math.sin(crc32(channel.encode()))
        if self.cleaned_on is None:
            return 1.01 - 0.0028 * (self.day - self.first_day).days
        return 1.0 - 0.0024 * (self.day - self.cleaned_on).days

    def _grow(self, name: str, basin: Basin, hot: bool) -> None:
        litres = (0.014 + 0.0009 * max(0.0, self.inside_c - 10)) * basin.inside_l
        wanted = basin.ph + DRIFT[name] + self._noise(0.025) + (0.05 if hot else 0.0)
        wanted = LAST_DAYS[name].get(self.before, wanted)
        basin.drink(litres, min(max(wanted, 5.2), 7.0))

    def _in_basin(self, basin: Basin, item: str) -> float:
        match item:
            case "ph":
                return basin.ph + self._noise(0.015)
            case "ec":
                return basin.ec() + self._noise(0.012)
            case "t":
                return self.water_c + self._noise(0.3) + (3 if self.noon else 0)
            case "dip":
                return litres_to_dip(basin.reservoir, basin.inside_l) + self._noise(0.15)
            case "buffer":
                return 7.02 + 0.0013 * ((self.before + 2) % 40) + self._noise(0.01)
        return 9.6 - 0.12 * (self.water_c - 14) + self._noise(0.15)

    def _air(self, station: str, item: str) -> float:
        match item:
            case "t":
                return self.inside_c - 0.5 + self._noise(0.5) + (9 if self.noon else 0)
            case "rh":
                return min(94.0, max(45.0, 88 - 1.2 * (self.inside_c - 12) + self._noise(3)))
            case "min":
                return self.inside_c - 2.5 + self._noise(0.5)
        return self.inside_c + 6 + self._noise(1.0)

    def _channel(self, station: str, item: str) -> float:
        return 0.99 + self._noise(0.015) if item == "flow-again" else self.flow(station) + self._noise(0.015)

    def _tank(self, station: str, item: str) -> float:
        return self.tank_cm if item == "dip" else 0.03 + abs(self._noise(0.01))

    def _ferment(self, station: str, item: str) -> float:
        if item == "gravity":
            return 0.999 + 0.053 * math.exp(-(CASK_FILLED - self.before) / 9.0) + self._noise(0.0004)
        return 13.5 + 0.15 * (self.outside_c - 5) + self._noise(0.4)

    def _hens(self, station: str, item: str) -> float:
        heat = max(0.0, self.outside_c - 20)
        if item == "eggs":
            return float(sum(self.chance.random() < self.lay for _ in range(self.birds)))
        if item == "water":
            return self.birds * (0.21 + 0.012 * heat) + self._noise(0.2)
        return self.birds * (0.118 - 0.001 * heat) + self._noise(0.08)

    def _noise(self, spread: float) -> float:
        return self.chance.gauss(0, spread)


def dusk_minutes(day: date) -> int:
    """When the light goes, in minutes after midnight."""
    return round(18 * 60 + 20 + 130 * math.cos((day.timetuple().tm_yday - 172) / 365.25 * 2 * math.pi))


def typed_number(value: float, item: Item, chance: random.Random) -> tuple[float, str]:
    """A value as it is typed, now and then with a comma."""
    text = f"{value:.{item.decimals}f}"
    return float(text), text.replace(".", ",") if chance.random() < 0.08 else text


def local_day(moment: datetime, like: datetime) -> date:
    """The day of a moment in the zone of another."""
    return moment.astimezone(like.tzinfo).date()
