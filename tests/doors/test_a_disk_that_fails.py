"""Where the disk gives nothing back, verbs and app say so and go on; a repair brings the record to a sound end."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rounds.app import RoundsApp
from rounds.cli import main
from rounds.history.check import check
from rounds.history.disk import Disk
from tests import keyboard

LINE = "ph 6.9 ec 1.4 t 20 dip 30"
Break = Callable[[Callable[[Path], bool], int], None]


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> Break:
    """Have reading of some files and folders fail from now on."""
    read, scan = Disk.read, Disk.scan

    def break_off(which: Callable[[Path], bool], error: int) -> None:
        def asked(whole: Callable[..., Any]) -> Callable[..., Any]:
            def call(self: Disk, path: Path, *rest: Any) -> Any:
                if which(path):
                    raise OSError(error, os.strerror(error))
                return whole(self, path, *rest)

            return call

        monkeypatch.setattr(Disk, "read", asked(read))
        monkeypatch.setattr(Disk, "scan", asked(scan))

    return break_off


def said(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str]:
    capsys.readouterr()
    code = main(list(map(str, words)))
    both = capsys.readouterr()
    return code, both.out + both.err


def own_device(farm: Path, capsys: pytest.CaptureFixture[str]) -> str:
    before = {path.name for path in (farm / "history").iterdir()}
    assert said(capsys, "enter", farm, "ch-1", "flow 1.2")[0] == 0
    return ({path.name for path in (farm / "history").iterdir()} - before).pop()


@pytest.mark.parametrize("error", [errno.EIO, errno.EACCES])
@pytest.mark.parametrize("whose", ["own", "another's"])
def test_a_journal_that_cannot_be_read_stops_nothing(
    farm: Path, capsys: pytest.CaptureFixture[str], broken: Break, error: int, whose: str
) -> None:
    device = own_device(farm, capsys)
    other = next(p.name for p in (farm / "history").iterdir() if p.is_dir() and p.name not in (device, "quarantine"))
    bad = device if whose == "own" else other
    sectors = {path.stat().st_ino for path in (farm / "history" / bad).rglob("*.jsonl")}
    broken(lambda path: path.is_file() and path.stat().st_ino in sectors, error)
    why = os.strerror(error)
    code, told = said(capsys, "check", farm)
    assert code == 1 and why in told
    assert said(capsys, "due", farm)[0] == 0
    code, told = said(capsys, "enter", farm, "ch-1", "flow 1.3")
    assert code == 0 and "not saved" not in told
    for verb in (["correct", farm, "res-1", LINE], ["history", farm], ["relief", farm], ["card", farm]):
        assert said(capsys, *verb)[0] in (0, 1)
    said(capsys, "check", farm, "--repair")
    assert check(farm).sound, check(farm).sentences


@pytest.mark.parametrize("error", [errno.EIO, errno.EACCES])
def test_a_history_that_cannot_be_looked_into_is_said_and_nothing_is_saved_into_it(
    farm: Path, capsys: pytest.CaptureFixture[str], broken: Break, error: int
) -> None:
    broken(lambda path: path.name == "history", error)
    code, told = said(capsys, "check", farm)
    assert code == 1 and os.strerror(error) in told
    assert os.strerror(error) in said(capsys, "due", farm)[1]
    code, told = said(capsys, "enter", farm, "ch-1", "flow 1.3")
    assert code == 1 and "nothing was saved" in told
    assert "so nothing is poured" in said(capsys, "correct", farm, "res-1", LINE)[1]
    code, told = said(capsys, "check", farm, "--repair")
    assert code == 1 and told


def test_a_device_that_cannot_be_looked_into_keeps_nobody_from_writing(
    farm: Path, capsys: pytest.CaptureFixture[str], broken: Break
) -> None:
    device = own_device(farm, capsys)
    broken(lambda path: path.name == device or path.parent.name == device, errno.EACCES)
    assert said(capsys, "check", farm)[0] == 1
    code, told = said(capsys, "enter", farm, "ch-1", "flow 1.3")
    assert code == 0 and "not saved" not in told
    assert "Permission denied" in said(capsys, "due", farm)[1]


async def test_the_app_opens_where_a_journal_cannot_be_read(farm: Path, broken: Break) -> None:
    broken(lambda path: path.suffix in (".jsonl", ".json") and "history" in path.parts, errno.EIO)
    app = RoundsApp(farm)
    async with app.run_test(size=(100, 40), notifications=True):
        await keyboard.until(app, lambda: "Input/output error" in keyboard.shown(app))
