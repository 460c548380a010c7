"""A small farm for tests, and a clock that stands still until it is moved."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.once import toml_is_read_once  # noqa: F401  # this is a fixture
from tests.seconds import pytest_addoption, pytest_configure  # noqa: F401  # these are hooks

os.environ["XDG_STATE_HOME"] = tempfile.mkdtemp(prefix="rounds-state-")
"""Keys that tests make are kept here, not among those of whoever runs them."""
FARM = """
format = 1
name = "Test farm"

[place]
latitude = 47.2
longitude = 8.1
timezone = "UTC"

[[people]]
id = "ada"
name = "Ada"

[[people]]
id = "ben"
name = "Ben"
role = "helper"

[[meters]]
id = "pen-1"
name = "pH and EC pen"
measures = ["ph", "ec", "t"]
tolerance = { ph = 0.05, ec = 0.05 }

[[waters]]
id = "well"
name = "Well water"
ph = 7.5
ec_ms_cm = 0.52
alkalinity_meq_l = 4.0
ca_mg_l = 70
mg_mg_l = 14
na_mg_l = 10
cl_mg_l = 12
so4_mg_l = 20

[[stations]]
kind = "reservoir"
id = "res-1"
name = "Reservoir one"
full_volume_l = 220
working_volume_l = 180
dip_table = [[0, 0], [44, 220]]
feed = "leaf"
stage = "grown"
waters = ["well"]
pump_l_min = 20
pipes_l = 6

[[stations]]
kind = "channel"
id = "ch-1"
name = "Channel one"
reservoir = "res-1"
crop = "lettuce"
sites = 14
planted = 13
planted_on = 2026-11-01
flow_l_min = 1.2
holds_l = 4
roots_l = 2

[[stations]]
kind = "channel"
id = "ch-2"
name = "Channel two"
reservoir = "res-1"
crop = "lettuce"
sites = 14
planted = 13
planted_on = 2026-11-01
flow_l_min = 1.2
holds_l = 4
roots_l = 2
sick = true

[[stations]]
kind = "hens"
id = "hens"
name = "Hen house"
birds = 12
"""
FEEDS = """
format = 1

[[feeds]]
id = "leaf"
name = "Leaf feed"
part_a = "leaf-a"
part_b = "leaf-b"
a_ml_per_l = 5
b_ml_per_l = 5

[[feeds.stages]]
id = "grown"
ec = [1.5, 1.9]
ph = [5.6, 6.2]
"""
SHELF = """
format = 1

[[products]]
kind = "concentrate"
id = "leaf-a"
name = "Leaf A"
part = "A"
amount = 8
unit = "L"
counted_on = 2026-11-01
salts_g_l = { calcium_nitrate_tetrahydrate = 94, potassium_nitrate = 40 }
iron_mg_l = 400

[[products]]
kind = "concentrate"
id = "leaf-b"
name = "Leaf B"
part = "B"
amount = 8
unit = "L"
counted_on = 2026-11-01
salts_g_l = { potassium_nitrate = 40, magnesium_sulfate_heptahydrate = 49, potassium_dihydrogen_phosphate = 27 }

[[products]]
kind = "acid"
id = "nitric-8"
name = "Working nitric acid"
agent = "nitric"
percent = 8
density_kg_l = 1.043
working = true
amount = 2
unit = "L"
counted_on = 2026-11-01

[[products]]
kind = "base"
id = "koh-5"
name = "Working potash lye"
agent = "potassium_hydroxide"
percent = 5
density_kg_l = 1.044
working = true
amount = 1
unit = "L"
counted_on = 2026-11-01
"""


class StoppedClock:
    """A clock that tests move by hand."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def __call__(self) -> datetime:
        return self.at

    def go_on(self, **parts: float) -> None:
        """Move it forward."""
        self.at += timedelta(**parts)


@pytest.fixture
def clock() -> StoppedClock:
    """Six in the morning of a Wednesday in November."""
    return StoppedClock(datetime(2026, 11, 25, 6, 0, tzinfo=UTC))


@pytest.fixture(scope="session")
def lay_out_farm() -> Callable[[Path], Path]:
    """Lay out the small farm in a folder of a test's, or of a whole module's: what takes long is done once there."""

    def lay_out(folder: Path) -> Path:
        folder.mkdir()
        for name, text in (("farm.toml", FARM), ("feeds.toml", FEEDS), ("shelf.toml", SHELF)):
            (folder / name).write_text(text, encoding="utf-8")
        return folder

    return lay_out


@pytest.fixture
def farm_folder(tmp_path: Path, lay_out_farm: Callable[[Path], Path]) -> Path:
    """One reservoir, two channels of which one is sick, hens."""
    return lay_out_farm(tmp_path / "farm")
