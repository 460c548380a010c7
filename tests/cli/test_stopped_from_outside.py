"""Signals: the terminal is left as it was, what was typed and not saved is said, and what was saved is there."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from rounds.history.store import History

pty = pytest.importorskip("pty")
termios = pytest.importorskip("termios")
SHOULD_BE_ON = {"?25", "?7"}
"""Modes of a terminal that a shell wants: its cursor, and long lines that wrap. All others are the app's own."""


def _heed_hanging_up() -> None:
    """As in a terminal, also where the tests themselves were started by `nohup`."""
    signal.signal(signal.SIGHUP, signal.SIG_DFL)


class Terminal:
    """A terminal with the app on it."""

    def __init__(self, farm: Path, *words: str) -> None:
        self.master, self.slave = pty.openpty()
        self.before = termios.tcgetattr(self.slave)
        self.seen = b""
        self.process = subprocess.Popen(
            [sys.executable, "-m", "rounds", str(farm), *words],
            stdin=self.slave, stdout=self.slave, stderr=self.slave, start_new_session=True,
            env=os.environ | {"TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}, preexec_fn=_heed_hanging_up,
        )  # fmt: skip

    def wait_for(self, text: str) -> None:
        """Read until a text stands there."""
        end = time.monotonic() + 20
        while text.encode() not in re.sub(rb"\x1b\[[0-9;?]*[A-Za-z]", b"", self.seen):
            assert time.monotonic() < end, self.seen[-2000:]
            self.seen += os.read(self.master, 65536)

    def type(self, text: str) -> None:
        os.write(self.master, text.encode())

    def stop(self, number: int) -> int:
        """Send a signal; give the exit code, with all that was written read."""
        self.process.send_signal(number)
        os.set_blocking(self.master, False)
        while self.process.poll() is None:
            self._read()
            time.sleep(0.01)
        self._read()
        return self.process.returncode

    def _read(self) -> None:
        try:
            self.seen += os.read(self.master, 65536)
        except OSError:
            return

    def modes(self) -> dict[str, str]:
        """How each mode of the terminal was left."""
        found = {}
        for names, how in re.findall(rb"\x1b\[(\?[0-9;]+)([hl])", self.seen):
            for name in names.decode().lstrip("?").split(";"):
                found[f"?{name}"] = how.decode()
        return found


@contextmanager
def terminal(farm: Path, *words: str) -> Iterator[Terminal]:
    found = Terminal(farm, *words)
    try:
        yield found
    finally:
        if found.process.poll() is None:
            found.process.kill()
        found.process.wait()
        os.close(found.master)
        os.close(found.slave)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_the_app_leaves_the_terminal_as_it_was_and_says_what_was_not_entered(
    farm_folder: Path, number: signal.Signals
) -> None:
    with terminal(farm_folder) as shown:
        shown.wait_for("Enter starts")
        shown.type("\r")
        shown.wait_for("all well, or what is off")
        shown.type("ph 6.4")
        shown.wait_for("ph 6.4")
        assert {"?1049", "?1000", "?2004"} <= {name for name, how in shown.modes().items() if how == "h"}
        assert shown.stop(number) == 128 + number
        assert {name for name, how in shown.modes().items() if how == "h"} <= SHOULD_BE_ON
        assert "?25" in shown.modes() and shown.modes()["?25"] == "h"
        assert termios.tcgetattr(shown.slave) == shown.before
        told = shown.seen.decode(errors="replace").rpartition("\x1b[?1049l")[2]
        assert f"Stopped by {number.name}. “ph 6.4” was typed and not entered: it is not saved." in told
    with History.open(farm_folder / "history", read_only=True) as history:
        assert [each.kind for each in history.records()] == ["round"]


def test_the_plain_round_says_that_what_it_said_is_saved(farm_folder: Path) -> None:
    with terminal(farm_folder, "--plain") as shown:
        shown.wait_for("▶")
        assert shown.stop(signal.SIGTERM) == 128 + signal.SIGTERM
        assert "Stopped by SIGTERM. What was said to be saved is saved." in shown.seen.decode()
        assert termios.tcgetattr(shown.slave) == shown.before


@pytest.mark.long
def test_a_terminal_that_is_gone_ends_the_app_and_nothing_saved_is_lost(farm_folder: Path) -> None:
    shown = Terminal(farm_folder)
    shown.wait_for("Enter starts")
    shown.type("\r")
    shown.wait_for("all well, or what is off")
    shown.type("21.5 t\r")
    os.close(shown.master)
    os.close(shown.slave)
    shown.process.send_signal(signal.SIGHUP)
    assert shown.process.wait(60) in (128 + signal.SIGHUP, -signal.SIGHUP)
    with History.open(farm_folder / "history", read_only=True) as history:
        assert history.records(kind="round")
