"""The power goes while a bundle is opened or a farm is copied: there is no farm afterwards, or the whole one."""

from __future__ import annotations

import errno
import importlib
import shutil
import sys
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.errors import NotSaved
from rounds.history.backup import backup
from rounds.history.record import Draft
from rounds.relief.bundle import write_bundle
from rounds.relief.opening import open_bundle, read_bundle
from rounds.relief.sheet import relief_for
from rounds.walk.session import Session

SUPPORT = str(Path(__file__).parents[1] / "history" / "support")
if SUPPORT not in sys.path:
    sys.path.insert(0, SUPPORT)
explorer: Any = importlib.import_module("history_explorer")
tools: Any = importlib.import_module("history_tools")

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def bundle(tmp_path_factory: pytest.TempPathFactory, lay_out_farm: Callable[[Path], Path]) -> Path:
    """A bundle whose doses of the last weeks lie in two months; only read."""
    folder = tmp_path_factory.mktemp("packed")
    session = Session.open(lay_out_farm(folder / "farm"), clock=lambda: AT)
    with session.history:
        for day in (0, 30):
            at = AT - timedelta(days=day)
            session.save(Draft(kind="dose", station="res-1", item="nitric-8", value=20, unit="mL", measured_at=at))
        path = folder / "farm.zip"
        write_bundle(session, relief_for(session, "ben", date(2026, 11, 26), date(2026, 11, 28)), path)
    return path


def explored(bundle: Path, place: Path, *left_out: Callable[[str], bool]) -> tuple[int, list[Any]]:
    """Open a bundle on a disk that records, and look at every state that a cut may leave."""
    place.mkdir()
    files = read_bundle(bundle).files
    disk = explorer.RecordingDisk(place, left_out)
    open_bundle(bundle, place / "farm", disk=disk)
    disk.acknowledge(["It is in farm now"])

    def visit(tree: dict[str, bytes | None], acknowledged: set[str]) -> str | None:
        if "farm" not in tree:
            return "the farm that was told of is gone" if acknowledged else None
        there = {name.removeprefix("farm/"): data for name, data in tree.items() if name.startswith("farm/")}
        missing = [name for name, data in files.items() if there.get(name) != data]
        return f"a farm without {missing}" if missing else None

    states, bad = explorer.explore(disk.log, {}, visit)
    return states, bad


def test_a_power_cut_while_a_bundle_is_opened_leaves_no_farm_or_the_whole_one(bundle: Path, tmp_path: Path) -> None:
    states, bad = explored(bundle, tmp_path / "there")
    assert not bad, bad[:3]
    assert states > 60
    assert [each.name for each in (tmp_path / "there").iterdir()] == ["farm"]


@pytest.mark.parametrize(
    "left_out",
    [
        lambda name: name.endswith(".jsonl"),
        lambda name: name.endswith("shelf.toml"),
        lambda name: name.endswith("/2026/"),
        lambda name: name.endswith("/history/"),
        lambda name: name.endswith(".unfinished/"),
        lambda name: name == "./",
    ],
    ids=["journal", "shelf", "months", "devices", "farm", "parent"],
)
def test_the_explorer_finds_the_farm_without_its_history_where_a_sync_is_left_out(
    bundle: Path, tmp_path: Path, left_out: Callable[[str], bool]
) -> None:
    states, bad = explored(bundle, tmp_path / "there", left_out)
    assert bad, f"none of {states} states was bad"


def test_a_disk_that_fails_at_any_call_keeps_nothing_of_a_bundle(bundle: Path, tmp_path: Path) -> None:
    counting = tools.FailingDisk()
    open_bundle(bundle, tmp_path / "counted", disk=counting)
    for call in range(counting.calls):
        place = tmp_path / f"call-{call}"
        place.mkdir()
        with pytest.raises(NotSaved, match="Nothing was kept"):
            open_bundle(bundle, place / "farm", disk=tools.FailingDisk(fail_at=call, error=errno.ENOSPC))
        assert list(place.iterdir()) == []


def test_what_a_power_cut_left_unfinished_is_in_nobodys_way(bundle: Path, tmp_path: Path) -> None:
    left = tmp_path / "copy.unfinished"
    left.mkdir()
    (left / "mine").write_text("x")
    open_bundle(bundle, tmp_path / "copy")
    assert (left / "mine").read_text() == "x"
    assert (tmp_path / "copy" / "history").is_dir()


def test_a_power_cut_during_a_backup_leaves_no_backup_or_the_whole_one(
    farm_folder: Path, opened: Callable[..., Session], tmp_path: Path
) -> None:
    with opened(farm_folder).history as history:
        history.save(Draft(kind="reading", station="res-1", item="ph", value=6.0, measured_at=AT))
    stick = tmp_path / "stick"
    stick.mkdir()
    disk = explorer.RecordingDisk(stick)
    made = backup(farm_folder, stick / "farms", now=AT, disk=disk)
    disk.acknowledge(["copied, read back, and equal"])
    name = str(made.folder.relative_to(stick))
    files = {str(path.relative_to(stick)): path.read_bytes() for path in made.folder.rglob("*") if path.is_file()}
    assert any(each.endswith(".jsonl") for each in files)

    def visit(tree: dict[str, bytes | None], acknowledged: set[str]) -> str | None:
        if name not in tree:
            return "gone" if acknowledged else None
        return None if all(tree.get(each) == data for each, data in files.items()) else "only a part"

    states, bad = explorer.explore(disk.log, {}, visit)
    assert states > 20
    assert not bad, bad[:3]
    shutil.rmtree(stick)
