"""More keys at once than anybody types are left out, said, and never fill the memory; the way out stays open."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from rounds.app import RoundsApp
from rounds.widgets.flood import MOST_ON_THEIR_WAY, Flood
from rounds.widgets.keys_in_turn import MOST_PASTED, TypedTooEarly
from rounds.widgets.typed_ahead import PAUSE_S
from tests import keyboard

MOST_MB = 150.0


def test_of_a_burst_that_is_too_long_nothing_counts_and_after_a_pause_keys_count_again() -> None:
    flood = Flood()
    passed = [flood.lets_through(0.001 * n) for n in range(3 * MOST_ON_THEIR_WAY)]
    assert passed.count(True) == MOST_ON_THEIR_WAY
    assert not any(flood.arrived(0.001 * n) for n in range(MOST_ON_THEIR_WAY)), "what came before is left out too"
    end = 0.001 * (3 * MOST_ON_THEIR_WAY - 1)
    assert not flood.lets_through(end + 0.9 * PAUSE_S)
    assert flood.lets_through(end + 2.0 * PAUSE_S) and flood.arrived(end + 2.0 * PAUSE_S)


def test_keys_that_arrive_as_they_come_are_never_too_many() -> None:
    flood = Flood()
    for number in range(5 * MOST_ON_THEIR_WAY):
        assert flood.lets_through(0.001 * number) and flood.arrived(0.001 * number)


async def test_a_text_longer_than_any_line_is_not_pasted_and_that_is_said(farm_folder: Path) -> None:
    from textual.events import Paste

    app = RoundsApp(farm_folder)
    async with app.run_test(size=(80, 24), notifications=True):
        app.post_message(Paste("x" * (MOST_PASTED + 1)))
        await keyboard.until(app, lambda: TypedTooEarly.TOO_MANY[:20] in keyboard.shown(app))


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the peak of the memory is told in another way")
def test_200_kb_of_raw_keys_cost_little_memory_and_leave_the_way_out_open(farm_folder: Path) -> None:
    import pty

    ours, theirs = pty.openpty()
    app = subprocess.Popen(
        [sys.executable, "-m", "rounds", str(farm_folder)], stdin=theirs, stdout=theirs, stderr=theirs,
        env={**os.environ, "TERM": "xterm-256color"}, start_new_session=True,
    )  # fmt: skip
    os.close(theirs)
    os.set_blocking(ours, False)
    try:
        shown = b""
        while b"Reservoir" not in shown and app.poll() is None:
            shown += _read(ours)
        _write(ours, b"abc def ghi " * 17_000)
        status = Path(f"/proc/{app.pid}/status").read_text()
        peak_mb = int(next(line.split()[1] for line in status.splitlines() if line.startswith("VmHWM"))) / 1024
        _write(ours, b"\x11")
        while app.poll() is None:
            _read(ours)
        assert app.returncode == 0
        assert peak_mb < MOST_MB
    finally:
        app.kill()
        app.wait()
        os.close(ours)


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 65_536)
    except BlockingIOError:
        time.sleep(0.01)
    except OSError:
        time.sleep(0.01)  # the other end is closed
    return b""


def _write(terminal: int, data: bytes) -> None:
    """Write all of it, and read meanwhile what is shown, as a terminal does."""
    while data:
        try:
            data = data[os.write(terminal, data[:1_024]) :]
        except BlockingIOError:
            _read(terminal)
