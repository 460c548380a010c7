"""TOML within bounds: what no file of a farm needs is refused before it is read, since reading it costs minutes.

The reader of the standard library takes time with the square of the dots in a key, and what is nested deep stops
whoever walks through it afterwards.
"""

from __future__ import annotations

import re
import stat
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

MOST_BYTES = 1 << 20
"""Of one file. The largest farm that was tried has a twentieth of it. [bytes]"""
MOST_DEPTH = 24
MOST_DOTS = 8
MOST_DIGITS = 40
MOST_KEYS = 20_000

_QUOTED_OR_REMARK = re.compile(
    r"""\"{3}(?:\\.|[^\\])*?(?:\"{3}|\Z)|'{3}.*?(?:'{3}|\Z)|"(?:\\.|[^"\\\n])*+"?|'[^'\n]*+'?|\#[^\n]*+""", re.DOTALL
)
_BRACKET = re.compile(r"[\[\]{}]")
_DOTTED = re.compile(r"(?<![\w-])(?:[\w-]++[ \t]*+\.[ \t]*+){" + str(MOST_DOTS + 1) + "}", re.ASCII)
_LONG_WORD = re.compile(r"\w{" + str(MOST_DIGITS + 1) + "}")
_DIGITS = re.compile(r"(?<![\w-])[0-9][0-9A-Za-z_]{" + str(MOST_DIGITS) + "}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Bound:
    """A bound that a text goes beyond."""

    at: int
    """Where in the text, from 0. [characters]"""
    how: str
    """What is too much there, in words."""


class BeyondBounds(ValueError):
    """A text that is not read, since it goes beyond a bound."""


def loads(text: str) -> dict[str, Any]:
    """Read a TOML text.

    Raises
    ------
    BeyondBounds
        Where it goes beyond a bound: length, depth, dots in a key, digits of a number, number of keys.
    ValueError
        Where it is not TOML.
    """
    found = beyond(text)
    if found is not None:
        raise BeyondBounds(found.how)
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise BeyondBounds("there are too many brackets inside each other") from error


def beyond(text: str) -> Bound | None:
    """The first bound that a text goes beyond; None where it can be read.

    Examples
    --------
    >>> beyond("x = [[1], [2]]"), beyond("a" + ".a" * 9 + " = 1").how
    (None, 'a key has more than 8 dots')
    """
    if len(text) > MOST_BYTES:
        return Bound(0, f"the file is longer than {MOST_BYTES >> 20} MB")
    if _is_plainly_within(text):
        return None
    bare = _QUOTED_OR_REMARK.sub(_blank, text)
    if bare.count("=") > MOST_KEYS:
        return Bound(0, f"there are more than {MOST_KEYS} keys")
    dots, digits = _DOTTED.search(bare), _DIGITS.search(bare)
    if dots is not None:
        return Bound(dots.start(), f"a key has more than {MOST_DOTS} dots")
    if digits is not None:
        return Bound(digits.start(), "this number is too long")
    deep = _too_deep(bare)
    return None if deep is None else Bound(deep, "there are more brackets inside each other than can be read")


def read_bounded(path: Path, most: int = MOST_BYTES) -> bytes:
    """The bytes of an ordinary file that is not too large.

    Raises
    ------
    OSError
        Where it cannot be read, is no ordinary file (a pipe would be waited for), or is too large.
    """
    status = path.stat()
    if not stat.S_ISREG(status.st_mode):
        raise OSError(0, "it is not an ordinary file")
    if status.st_size > most:
        raise OSError(0, f"it is longer than {most >> 20} MB")
    with path.open("rb") as file:
        return file.read(most + 1)


def _is_plainly_within(text: str) -> bool:
    """Tell quickly that a text is within all bounds, whatever of it is quoted; where it cannot tell, say no."""
    return (
        text.count("=") <= MOST_KEYS
        and _LONG_WORD.search(text) is None
        and all(line.count(".") <= MOST_DOTS for line in text.split("\n"))
        and _too_deep(text) is None
    )


def _blank(found: re.Match[str]) -> str:
    """What stands in for a quoted text or a remark: as long, on as many lines; a quoted key stays a key."""
    text = found[0]
    fill = f"{' ' if text[0] == '#' else 'q'}{' ' * (len(text) - 1)}"
    return fill if "\n" not in text else "".join("\n" if c == "\n" else " " for c in text)


def _too_deep(bare: str) -> int | None:
    depth = 0
    for bracket in _BRACKET.finditer(bare):
        depth = depth + 1 if bracket[0] in "[{" else max(depth - 1, 0)
        if depth > MOST_DEPTH:
            return bracket.start()
    return None
