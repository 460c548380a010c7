"""Being told to stop from outside: the terminal is left as it was, and what is not saved is said.

The record needs no farewell: what was saved is durable, and a command that is cut off anywhere leaves it sound. So a
verb ends at once. The app has changed the terminal, and puts it right first.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from collections.abc import Callable
from types import FrameType
from typing import TYPE_CHECKING, Any

from rounds.cli.output import what_was_done

if TYPE_CHECKING:
    from rounds.app import RoundsApp

BY_SIGNAL = 128
"""A command that a signal ended has the exit code 128 and the number of the signal, as shells have it."""
PATIENCE_S = 3.0
"""So long the app may take to leave; then its terminal is put right without it. [s]"""
_AS_IT_WAS = b"\x1b[?2004l\x1b[?7h\x1b[?1000;1002;1003;1006;1015l\x1b[<u\x1b[?1049l\x1b[?25h\x1b[?1004l"
"""Pasting, wrapping, mouse, keyboard and focus as a shell wants them; its own screen; its cursor."""

Handler = Callable[[int, FrameType | None], Any]


def stand_by() -> None:
    """From now on a signal ends the command with a sentence."""
    for number in (*_from_outside(), signal.SIGINT):
        signal.signal(number, _end_at_once)


def let_keys_interrupt() -> None:
    """Let Ctrl+C be an interruption that the command answers itself."""
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, signal.default_int_handler)


def run_app(app: RoundsApp) -> int:
    """Run the app until it is left, or told to leave; give the exit code."""
    import asyncio  # slow to import, and no verb needs it

    attributes = _terminal_attributes()

    def leave(number: int, _: FrameType | None) -> None:
        watch = threading.Timer(PATIENCE_S, _leave_without, (number, attributes))
        watch.daemon = True
        watch.start()
        try:
            asyncio.get_running_loop().call_soon_threadsafe(app.leave, BY_SIGNAL + number)
        except RuntimeError:
            _leave_without(number, attributes)

    for number in (*_from_outside(), signal.SIGINT):
        signal.signal(number, leave)
    app.run()
    stand_by()
    code = app.return_code or 0
    if code > BY_SIGNAL:
        _say(f"Stopped by {_name(code - BY_SIGNAL)}. {not_entered(app.not_entered)}")
    return code


def not_entered(line: str) -> str:
    """What is lost of a line that was being typed."""
    lost = f"“{line}” was typed and not entered: it is not saved. " if line else ""
    return f"{lost}What was shown as saved is saved."


def _end_at_once(number: int, _: FrameType | None) -> None:
    told = what_was_done() or "`rounds history` shows what was saved before."
    _say(f"Stopped by {_name(number)}. {told}")
    os._exit(BY_SIGNAL + number)


def _leave_without(number: int, attributes: Any) -> None:
    """Put the terminal right in the app's stead, which does not answer, or whose terminal is gone."""
    with contextlib.suppress(OSError):
        os.write(2, _AS_IT_WAS)
    if attributes is not None:
        import termios

        with contextlib.suppress(termios.error, OSError):
            termios.tcsetattr(0, termios.TCSANOW, attributes)
    _say(f"Stopped by {_name(number)}. {not_entered('')}")
    os._exit(BY_SIGNAL + number)


def _terminal_attributes() -> Any:
    try:
        import termios

        return termios.tcgetattr(0)
    except (ImportError, OSError):
        return None
    except termios.error:
        return None


def _from_outside() -> list[signal.Signals]:
    """The signals that end a command here, but for those that whoever started it wants ignored, as `nohup` does."""
    known = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    return [each for each in known if signal.getsignal(each) != signal.SIG_IGN]


def _name(number: int) -> str:
    return signal.Signals(number).name


def _say(sentence: str) -> None:
    with contextlib.suppress(OSError):
        os.write(2, f"\n{sentence}\n".encode(getattr(sys.__stderr__, "encoding", None) or "utf-8", "replace"))
