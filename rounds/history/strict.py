"""JSON of somebody else: read by strict rules, within limits of length, depth, digits and keys."""

import math
import re
from dataclasses import dataclass
from typing import Any, NoReturn

import msgspec

from rounds.errors import BadInput
from rounds.text import clean_line


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeLimits:
    """How much is taken in at most."""

    entries: int = 5_000
    total_bytes: int = 256 << 20
    entry_bytes: int = 64 << 20
    ratio: int = 200
    """Unpacked size per packed size: more is taken for a trap. [-]"""
    line_bytes: int = 256 << 10
    depth: int = 16
    digits: int = 16
    """Longest whole number: longer ones cannot be kept exactly. [digits]"""
    keys: int = 4_096
    """Most keys of one line, in all its objects. [-]"""


MOST = 10**16
DEFAULT_LIMITS = SizeLimits()
STORED = SizeLimits(depth=18)
"""What lies in a history may be as deep as a draft may be, with the record around it."""


def strict_json(data: bytes, limits: SizeLimits = DEFAULT_LIMITS) -> Any:
    """Read JSON (RFC 8259) strictly: UTF-8, no byte order mark, no NaN, no key twice, no huge number, no deep nesting.

    Raises
    ------
    BadInput
        Where it breaks a rule.
    """
    import json  # what is spelled as this program spells it never comes here

    try:
        value = json.loads(
            data.decode("utf-8"),
            object_pairs_hook=_no_key_twice,
            parse_constant=_refuse_constant,
            parse_int=lambda digits: _whole(digits, limits),
            parse_float=_finite,
        )
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise BadInput(f"It is not sound JSON: {clean_line(str(error))}.") from error
    _check_depth(value, limits.depth)
    try:
        msgspec.json.encode(value)
    except (UnicodeEncodeError, OverflowError) as error:
        raise BadInput("It holds half a character, which cannot be kept.") from error
    return value


_MANY_DIGITS = re.compile(rb"\d{17}")
"""Without so many digits in a row no whole number is too large to be kept exactly."""


def strict_doc(body: bytes, limits: SizeLimits = DEFAULT_LIMITS) -> dict[str, Any]:
    """Read the JSON of one record strictly.

    What comes out of the fast reader and goes back to the same bytes holds no key twice and nothing but plain JSON;
    only other spellings take the slow road.

    Raises
    ------
    BadInput
        Where it breaks a rule or is no object.
    """
    if len(body) > limits.line_bytes:
        raise BadInput(f"A line is {len(body)} bytes long.", f"At most {limits.line_bytes} are taken in.")
    if body.count(b'":') > limits.keys:
        raise BadInput(f"A line holds more than {limits.keys} keys.")
    try:
        doc = msgspec.json.decode(body)
        plain = msgspec.json.encode(doc) == body
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError, OverflowError):
        plain = False
    if not plain:
        doc = strict_json(body, limits)
    if not isinstance(doc, dict):
        raise BadInput("A line holds something other than a record.")
    if body.count(b"{") + body.count(b"[") > limits.depth or _MANY_DIGITS.search(body):
        _check_depth(doc, limits.depth)
    return doc


def _no_key_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise BadInput("A key stands twice in the same object.")
    return found


def _refuse_constant(word: str) -> NoReturn:
    raise BadInput(f"{word} is not a number.")


def _whole(digits: str, limits: SizeLimits) -> int:
    if len(digits) > limits.digits:
        raise BadInput(f"A whole number has {len(digits)} digits.", f"At most {limits.digits} are taken in.")
    return int(digits)


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise BadInput("A number is too large to be kept.")
    return number


def _check_depth(value: Any, left: int) -> None:
    if left < 0:
        raise BadInput("It is nested too deep.")
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    for each in inner:
        if isinstance(each, dict | list):
            _check_depth(each, left - 1)
        elif isinstance(each, int) and not -MOST < each < MOST:
            raise BadInput("A whole number is too large to be kept exactly.")
