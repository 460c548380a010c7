"""How what stands at a spot in a TOML file was probably meant: one rule for each slip that people make.

A rule looks at the spot where the reader gave up, and gives the spot where the slip is with what to write there; or
nothing, and the next rule looks.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator

from rounds.farm.toml_spot import BARE_KEY, BEGINS_A_TABLE, Spot, in_text, is_pair, line_of, odd_quotes, open_at

SMART = "“”„‟«»‘’‚‹›"
_MARKER = re.compile(r"(<{7}|={7}|>{7}|\|{7})( |\Z)")
_HEADER = re.compile(r"\s*(\[{0,2})\s*([A-Za-z][A-Za-z0-9_.-]*)\s*(\]{0,2})\s*(?:#.*)?\Z")
_DECIMAL_COMMA = re.compile(r"(?<=[=\s\[,{])([-+]?\d[\d.]*),\s?(\d+)(?![\d.])")
_NUMBER_OF_THE_PAGE = re.compile(r"[-+]?(\d+\.\d*|\.\d+|\d+)")
_DAY = re.compile(r"(\d{1,2})[./](\d{1,2})[./](\d{4})|(\d{4})[-./](\d{1,2})[-./](\d{1,2})")
_YES = {"true": "true", "yes": "true", "on": "true", "false": "false", "no": "false", "off": "false"}


Told = tuple[Spot, str]
Rule = Callable[[Spot], Told | None]


def hint_for(spot: Spot) -> Told:
    """The spot of the slip, and how to write what stands there."""
    return next(told for told in _tried(spot) if told is not None)


def _tried(spot: Spot) -> Iterator[Told | None]:
    yield from (rule(spot) for rule in _RULES)
    yield spot, "a key, = and its value are expected: a text between quotes, a number with a point"


def _beyond(spot: Spot) -> Told | None:
    if "nested" in spot.message:
        return spot, "there are more brackets inside each other than can be read"
    return (spot, "this number is too long") if "Exceeds" in spot.message else None


def _conflict(spot: Spot) -> Told | None:
    marked = [row for row, text in enumerate(spot.lines) if _MARKER.match(text)]
    if not any(spot.lines[row][0] in "<>" for row in marked):
        return None
    return spot.at(
        0, marked[0]
    ), "two versions meet here: keep one of them and delete the lines <<<<<<<, ======= and >>>>>>>"


def _unseen(spot: Spot) -> Told | None:
    if spot.here == "\r":
        return spot, "there is a line end of another kind: save the file with ordinary line ends"
    if not spot.here or spot.here.isalpha() or (spot.here.isascii() and spot.here.isprintable()):
        return None
    if spot.here.isprintable() and unicodedata.category(spot.here) != "Zs":
        return None
    return spot, "a character stands here that cannot be seen: delete it, and type a space where one is wanted"


def _decimal_comma(spot: Spot) -> Told | None:
    for found in _DECIMAL_COMMA.finditer(spot.text):
        comma = spot.text.index(",", found.start())
        if found.start() <= spot.column <= found.end() + 1 and not in_text(spot.text, comma):
            written = f"{found[1].replace('.', '')}.{found[2]}"
            return spot.at(comma), f"write {written}, not {found[0]}"
    return None


def _smart_quotes(spot: Spot) -> Told | None:
    value = spot.pair[1] if spot.pair else spot.text.strip()
    if spot.here and spot.here in SMART:
        return spot, f'write straight quotes ", not {spot.here}'
    bare = value.partition("#")[0].rstrip() or value
    if value[:1] in ('"', "'") and value.count('"') % 2 and bare[-1:] in SMART:
        return spot.at(spot.text.rindex(bare[-1])), f'end the text with a straight quote ", not {bare[-1]}'
    return None


def _number(spot: Spot) -> Told | None:
    """A number or a day in another form than TOML has."""
    if spot.pair is None or ("," in spot.pair[1] and "[" not in spot.pair[1]):
        return None
    value = spot.pair[1].partition("#")[0].strip()
    start = spot.text.index("=") + 1
    start += len(spot.text[start:]) - len(spot.text[start:].lstrip())
    day = _DAY.fullmatch(value)
    if day:
        year, month, number = (day[3], day[2], day[1]) if day[1] else (day[4], day[5], day[6])
        return spot.at(start), f"write a day as year-month-day that exists, such as {_a_day(year, month, number)}"
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


def _in_toml(number: str) -> str:
    sign = number[0] if number[0] in "+-" else ""
    whole, point, part = number.lstrip("+-").partition(".")
    return sign + (whole.lstrip("0") or "0") + (f".{part or '0'}" if point else "")


def _a_day(year: str, month: str, day: str) -> str:
    if 1 <= int(month) <= 12 and 1 <= int(day) <= 28:
        return f"{year}-{int(month):02}-{int(day):02}"
    return "2026-03-31"


def _header(spot: Spot) -> Told | None:
    found = _HEADER.match(spot.text)
    if not found or not (found[1] or found[3]):
        return None
    count = max(len(found[1]), len(found[3]))
    if len(found[1]) != len(found[3]):
        return spot, f"write {'[' * count}{found[2]}{']' * count}"
    if "twice" in spot.message or "namespace" in spot.message or "overwrite" in spot.message:
        earlier = line_of(spot, rf"\s*\[{{1,2}}\s*{re.escape(found[2])}\s*\]")
        if count == 1 and earlier is not None and spot.lines[earlier].lstrip().startswith("[["):
            return spot.at(0), f"write [[{found[2]}]] with two brackets, as in line {earlier + 1}"
        also = f" in line {earlier + 1} already" if earlier is not None else " already"
        return spot.at(0), f"[{found[2]}] stands{also}: put what is below both under one"
    return None


def _twice(spot: Spot) -> Told | None:
    if not re.search("overwrite|twice|Duplicate|namespace", spot.message):
        return None
    row = spot.row
    while row > 0 and not is_pair(spot.lines[row]):
        row -= 1
    there = spot.at(len(spot.lines[row]) - len(spot.lines[row].lstrip()), row)
    if there.pair is None:
        return None
    key = there.pair[0]
    earlier = line_of(there, rf"\s*{re.escape(key)}\s*[=.]", within_table=True)
    if earlier is None:
        return there, f"{key} stands here twice: keep one of the two"
    return there, (
        f"{key} stands in line {earlier + 1} already: delete one of the two, "
        "or put a [[…]] line above where something new begins"
    )


def _not_closed(spot: Spot) -> Told | None:
    """A list or a table that was opened further up and is not closed before something new begins."""
    opened = open_at(spot)
    if opened is None:
        return None
    row, bracket = opened
    close = "]" if bracket == "[" else "}"
    what = "list" if bracket == "[" else "table"
    begins_anew = is_pair(spot.text) or BEGINS_A_TABLE.match(spot.text)
    if row != spot.row and begins_anew and bracket == "[":
        end = max(n for n in range(row, spot.row) if spot.lines[n].strip())
        return spot.at(len(spot.lines[end].rstrip()), end), f"close the {what} with {close}"
    if not spot.here:
        return (
            spot,
            f"close the {what} with {close} on the same line" if bracket == "{" else f"close the {what} with {close}",
        )
    if "Unclosed" in spot.message and not odd_quotes(spot.text):
        return spot, "put a comma between the values"
    return None


def _quote(spot: Spot) -> Told | None:
    if '"""' in spot.text or "'''" in spot.text or spot.message.startswith("Unterminated"):
        row = line_of(spot, r".*(\"\"\"|''')", including=True)
        if row is not None:
            mark = '"""' if '"""' in spot.lines[row] else "'''"
            return spot.at(spot.lines[row].index(mark), row), f"close the text that begins here with {mark}"
    if odd_quotes(spot.text):
        return spot, 'a quote (") is missing on this line: a text stands between two of them'
    if spot.text.count("'") % 2 and '"' not in spot.text and re.search('Expected "\'"|invalid char', spot.message):
        return spot, "a quote (') is missing on this line: a text stands between two of them"
    if "\\" in spot.message or "hex" in spot.message or "scalar" in spot.message:
        return spot, r"write \\ where a \ is meant"
    return None


def _equals(spot: Spot) -> Told | None:
    if "Expected '='" not in spot.message and "Invalid" not in spot.message:
        return None
    key, value = spot.pair or ("", "")
    if spot.here.isalpha() and not spot.here.isascii():
        return spot, f"a key is written in plain letters, digits, _ and -, not with {spot.here}"
    if "Expected '='" in spot.message and spot.text[spot.column :].lstrip()[:1] == ":":
        return spot, "write = instead of : between the key and its value"
    if spot.pair and not key:
        return spot, "the key before = is missing"
    if spot.pair and not value.partition("#")[0].strip():
        return spot, f"a value is missing after {key} ="
    if spot.pair and " " in key and not BARE_KEY.match(key):
        return spot, f"a key has no spaces: write {key.replace(' ', '_')}"
    if "Expected '='" in spot.message:
        return spot, "put = between the key and its value, or # before a remark"
    return None


def _word(spot: Spot) -> Told | None:
    """A value that is a bare word."""
    if spot.pair is None or spot.column <= spot.text.index("="):
        return None
    if spot.here in ("=", ","):
        list_wanted = spot.here == "," and "Expected newline" in spot.message
        return spot, "several values stand between [ and ]" if list_wanted else f"there is one {spot.here} too many"
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


_RULES: tuple[Rule, ...] = (
    _beyond, _conflict, _unseen, _decimal_comma, _smart_quotes, _header,
    _twice, _number, _not_closed, _equals, _quote, _word,
)  # fmt: skip
