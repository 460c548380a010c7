"""What is said on standard output and error: harmless to a terminal, and never the end of what was done.

A name or a note may hold what a terminal would obey; it becomes U+FFFD here, whichever way it came. Where standard
output is full, closed or gone, standard error says first what was saved: who is told nothing types it again.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
from collections.abc import Iterator
from typing import Any, TextIO

from rounds.text import clean

DONE, REFUSED = 0, 1
_UNSHOWN = "Letters that this output cannot show stand as a question mark (PYTHONUTF8=1 shows them)."


class CannotSay(Exception):
    """Standard output takes nothing more."""

    def __init__(self, why: str, *, is_left: bool = False) -> None:
        super().__init__(why)
        self.why = why
        self.is_left = is_left
        """Whether whoever was reading has left, as `head` does."""


class _Doings:
    """What this command has done so far that stays, and the exit code that goes with it."""

    def __init__(self) -> None:
        self.told: list[str] = []
        self.code = DONE


_doings = _Doings()


def done(sentence: str, code: int = DONE) -> None:
    """Keep what was done and stays, so that it can be said where the answer cannot.

    Parameters
    ----------
    code : int
        What the command ends with if nothing else goes wrong.
    """
    _doings.told.append(sentence)
    _doings.code = code


def what_was_done() -> str:
    """What was done so far, in words; empty where nothing stays of it."""
    return clean(" ".join(_doings.told), sys.maxsize)


class Voice(io.TextIOBase):
    """Standard output. Raises `CannotSay` where it takes nothing more."""

    def __init__(self, stream: TextIO | None) -> None:
        super().__init__()
        self._stream = stream
        self.has_unshown = False

    @property
    def encoding(self) -> str:  # type: ignore[override]
        return getattr(self._stream, "encoding", None) or "utf-8"

    def isatty(self) -> bool:
        return self._stream is not None and self._stream.isatty()

    def fileno(self) -> int:
        if self._stream is None:
            raise OSError("closed")
        return self._stream.fileno()

    def writable(self) -> bool:
        return True

    def write(self, text: str) -> int:
        """Say something in words."""
        harmless = text if text.isprintable() else clean(text, sys.maxsize)
        shown = harmless.encode(self.encoding, "replace").decode(self.encoding)
        self.has_unshown = self.has_unshown or shown != harmless
        self._send(shown)
        return len(text)

    def write_json(self, text: str) -> None:
        """Answer a program: what is no plain letter, or cannot be shown here, is escaped as JSON has it."""
        self._send("".join(map(self._escaped, text)) + "\n" if not self._is_plain(text) else text + "\n")

    def write_table(self, text: str) -> None:
        """Write a table, in UTF-8 whatever the terminal's own letters are."""
        buffer = getattr(self._stream, "buffer", None)
        if buffer is None or self.encoding.lower().replace("-", "") == "utf8":
            self._send(text)
            return
        self.flush()
        with _or_cannot_say():
            buffer.write(text.encode("utf-8", "replace"))

    def flush(self) -> None:
        """Hand over what was said."""
        with _or_cannot_say():
            if self._stream is not None:
                self._stream.flush()

    def _send(self, text: str) -> None:
        with _or_cannot_say():
            if self._stream is None:
                raise OSError(0, "it is closed")
            self._stream.write(text)

    def _is_plain(self, text: str) -> bool:
        return text.replace("\n", "").isprintable() and (self.encoding == "utf-8" or text.isascii())

    def _escaped(self, letter: str) -> str:
        if letter == "\n" or (letter.isprintable() and (letter.isascii() or self.encoding == "utf-8")):
            return letter
        pairs = letter.encode("utf-16-be", "surrogatepass")
        return "".join(f"\\u{pairs[n]:02x}{pairs[n + 1]:02x}" for n in range(0, len(pairs), 2))


class Aside(io.TextIOBase):
    """Standard error: what cannot be said there is lost, and stops nothing."""

    def __init__(self, stream: TextIO | None) -> None:
        super().__init__()
        self._stream = stream

    def isatty(self) -> bool:
        return self._stream is not None and self._stream.isatty()

    def writable(self) -> bool:
        return True

    def write(self, text: str) -> int:
        """Say something in words."""
        with contextlib.suppress(OSError, ValueError):
            if self._stream is not None:
                encoding = getattr(self._stream, "encoding", None) or "utf-8"
                self._stream.write(clean(text, sys.maxsize).encode(encoding, "replace").decode(encoding))
                self._stream.flush()
        return len(text)


@contextlib.contextmanager
def _or_cannot_say() -> Iterator[None]:
    try:
        yield
    except BrokenPipeError as error:
        raise CannotSay("nobody reads it any more", is_left=True) from error
    except OSError as error:
        raise CannotSay(error.strerror or str(error)) from error
    except ValueError as error:  # what Python says of a stream that was closed
        raise CannotSay("it is closed") from error


@contextlib.contextmanager
def speaking() -> Iterator[Voice]:
    """Let everything that is printed go this way; nothing is known to be done yet."""
    _doings.__init__()  # type: ignore[misc]
    voice = Voice(sys.stdout)
    before = sys.stdin
    sys.stdin = before if before is not None else io.StringIO()
    try:
        with contextlib.redirect_stdout(voice), contextlib.redirect_stderr(Aside(sys.stderr)):
            yield voice
    finally:
        sys.stdin = before


def print_form(text: str) -> None:
    """Print an answer that is JSON."""
    if isinstance(sys.stdout, Voice):
        sys.stdout.write_json(text)
    else:
        print(text)


def print_table(text: str) -> None:
    """Print an answer that is a table for other programs."""
    if isinstance(sys.stdout, Voice):
        sys.stdout.write_table(text)
    else:
        print(text, end="")


def ended(voice: Voice, code: int) -> int:
    """Hand over what was said, and give the exit code."""
    voice.flush()
    if voice.has_unshown:
        print(_UNSHOWN, file=sys.stderr)
    return code


def unsaid(error: CannotSay) -> int:
    """Say on standard error what was done all the same; give the exit code."""
    was_done = what_was_done()
    if was_done:
        print(f"{was_done} It could not be shown here: {error.why}.", file=sys.stderr)
        return _doings.code
    if error.is_left:
        return DONE
    print(f"The answer could not be written: {error.why}.", file=sys.stderr)
    return REFUSED


def give_up_standard_output() -> None:
    """Let what is still kept back go nowhere: Python would try once more at its end, and end with another code."""
    real: Any = sys.__stdout__
    with contextlib.suppress(OSError, ValueError, AttributeError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, real.fileno())
        os.close(nowhere)
