"""How a value in a TOML file was probably meant: a number, a day or a word as people write them.

The rules have the form of those in `toml_hints`.
"""

from __future__ import annotations

import re

from rounds.farm.toml_spot import Spot, Told, in_text

_SMART = "“”„‟«»‘’‚‹›"
_DECIMAL_COMMA = re.compile(r"(?<=[=\s\[,{])([-+]?\d[\d.]*),\s?(\d+)(?![\d.])")
_NUMBER_OF_THE_PAGE = re.compile(r"[-+]?(\d+\.\d*|\.\d+|\d+)")
_DAY = re.compile(r"(\d{1,2})[./](\d{1,2})[./](\d{4})|(\d{4})[-./](\d{1,2})[-./](\d{1,2})")
_YES = {"true": "true", "yes": "true", "on": "true", "false": "false", "no": "false", "off": "false"}


def decimal_comma(spot: Spot) -> Told | None:
    """A comma where TOML has a point."""
    for found in _DECIMAL_COMMA.finditer(spot.text):
        comma = spot.text.index(",", found.start())
        if found.start() <= spot.column <= found.end() + 1 and not in_text(spot.text, comma):
            written = f"{found[1].replace('.', '')}.{found[2]}"
            return spot.at(comma), f"write {written}, not {found[0]}"
    return None


def smart_quotes(spot: Spot) -> Told | None:
    """Quotes as a word processor sets them."""
    value = spot.pair[1] if spot.pair else spot.text.strip()
    if spot.here and spot.here in _SMART:
        return spot, f'write straight quotes ", not {spot.here}'
    bare = value.partition("#")[0].rstrip() or value
    if value[:1] in ('"', "'") and value.count('"') % 2 and bare[-1:] in _SMART:
        return spot.at(spot.text.rindex(bare[-1])), f'end the text with a straight quote ", not {bare[-1]}'
    return None


def odd_day(spot: Spot) -> Told | None:
    """A day in another form than TOML has."""
    start, value = _value_alone(spot)
    day = _DAY.fullmatch(value)
    if not day:
        return None
    year, month, number = (day[3], day[2], day[1]) if day[1] else (day[4], day[5], day[6])
    return spot.at(start), f"write a day as year-month-day that exists, such as {_a_day(year, month, number)}"


def odd_number(spot: Spot) -> Told | None:
    """A number in another form than TOML has."""
    start, value = _value_alone(spot)
    found = _NUMBER_OF_THE_PAGE.match(value)
    if not found or spot.column < start:
        return None
    right = _in_toml(found[0])
    rest = value[found.end() :].strip()
    if right != found[0] and not rest:
        return spot.at(start), f"write {right}, not {found[0]}"
    if rest and re.fullmatch(r"[^\W\d_][\w/°%²³]*|[°%][\w]*", rest):
        return spot.at(start), f"write the number alone, {right}, without “{rest}”"
    return None


def _value_alone(spot: Spot) -> tuple[int, str]:
    """Column and text of a value without the remark behind it; no text where several values stand there."""
    if spot.pair is None or ("," in spot.pair[1] and "[" not in spot.pair[1]):
        return 0, ""
    behind = spot.text.index("=") + 1
    start = behind + len(spot.text[behind:]) - len(spot.text[behind:].lstrip())
    return start, spot.pair[1].partition("#")[0].strip()


def _in_toml(number: str) -> str:
    sign = number[0] if number[0] in "+-" else ""
    whole, point, part = number.lstrip("+-").partition(".")
    return sign + (whole.lstrip("0") or "0") + (f".{part or '0'}" if point else "")


def _a_day(year: str, month: str, day: str) -> str:
    if 1 <= int(month) <= 12 and 1 <= int(day) <= 28:
        return f"{year}-{int(month):02}-{int(day):02}"
    return "2026-03-31"


def one_too_many(spot: Spot) -> Told | None:
    """A comma or another = behind a value."""
    if spot.here not in ("=", ",") or not _is_in_value(spot):
        return None
    list_wanted = spot.here == "," and "Expected newline" in spot.message
    return spot, "several values stand between [ and ]" if list_wanted else f"there is one {spot.here} too many"


def _is_in_value(spot: Spot) -> bool:
    return spot.pair is not None and spot.column > spot.text.index("=")


def bare_word(spot: Spot) -> Told | None:
    """A value that is a bare word."""
    if spot.pair is None or not _is_in_value(spot):
        return None
    bare = spot.pair[1].partition("#")[0].strip()
    if bare.startswith("[") and (inner := re.match(r"[^\W\d_][\w -]*", spot.text[spot.column :])):
        bare = inner[0].strip()
    if bare.lower() in _YES:
        return spot, f"write {_YES[bare.lower()]}, not {bare}"
    if re.fullmatch(r"[^\W\d_][^\"'\[\]{}=]*", bare):
        return spot, f'put a text between quotes: "{bare[:40]}"'
    if "Expected newline" in spot.message:
        return spot, f"nothing may follow the value but a remark that begins with #: “{spot.text[spot.column :][:30]}”"
    return None
