"""How what stands at a spot in a TOML file was probably meant: one rule for each slip that people make.

A rule looks at the spot where the reader gave up, and gives the spot where the slip is with what to write there; or
nothing, and the next rule looks.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator

from rounds.farm.toml_spot import BARE_KEY, Spot, Told, is_pair, line_of, odd_quotes, open_at
from rounds.farm.toml_values import bare_word, decimal_comma, odd_day, odd_number, one_too_many, smart_quotes

_MARKER = re.compile(r"(<{7}|={7}|>{7}|\|{7})( |\Z)")
_HEADER = re.compile(r"\s*(\[{0,2})\s*([A-Za-z][A-Za-z0-9_.-]*)\s*(\]{0,2})\s*(?:#.*)?\Z")

Rule = Callable[[Spot], Told | None]


def hint_for(spot: Spot) -> Told:
    """The spot of the slip, and how to write what stands there."""
    return next(told for told in _tried(spot) if told is not None)


def _tried(spot: Spot) -> Iterator[Told | None]:
    yield from (rule(spot) for rule in _RULES)
    yield spot, "a key, = and its value are expected: a text between quotes, a number with a point"


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


def _header(spot: Spot) -> Told | None:
    found = _HEADER.match(spot.text)
    if not found or not (found[1] or found[3]):
        return None
    count = max(len(found[1]), len(found[3]))
    if len(found[1]) != len(found[3]):
        return spot, f"write {'[' * count}{found[2]}{']' * count}"
    if re.search("twice|namespace|overwrite", spot.message):
        return spot.at(0), _second_header(spot, found[2], count)
    return None


def _second_header(spot: Spot, name: str, brackets: int) -> str:
    earlier = line_of(spot, rf"\s*\[{{1,2}}\s*{re.escape(name)}\s*\]")
    if earlier is None:
        return f"[{name}] stands already: put what is below both under one"
    if brackets == 1 and spot.lines[earlier].lstrip().startswith("[["):
        return f"write [[{name}]] with two brackets, as in line {earlier + 1}"
    return f"[{name}] stands in line {earlier + 1} already: put what is below both under one"


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
    if bracket == "[" and row != spot.row and spot.begins_anew:
        return _end_of_text(spot, row), "close the list with ]"
    if not spot.here:
        return spot, "close the list with ]" if bracket == "[" else "close the table with } on the same line"
    if "Unclosed" in spot.message and not odd_quotes(spot.text):
        return spot, "put a comma between the values"
    return None


def _end_of_text(spot: Spot, first: int) -> Spot:
    """The end of the last line with something on it, from a row on, before the spot's own line."""
    end = max(row for row in range(first, spot.row) if spot.lines[row].strip())
    return spot.at(len(spot.lines[end].rstrip()), end)


def _long_text(spot: Spot) -> Told | None:
    if '"""' in spot.text or "'''" in spot.text or spot.message.startswith("Unterminated"):
        row = line_of(spot, r".*(\"\"\"|''')", including=True)
        if row is not None:
            mark = '"""' if '"""' in spot.lines[row] else "'''"
            return spot.at(spot.lines[row].index(mark), row), f"close the text that begins here with {mark}"
    return None


def _quote(spot: Spot) -> Told | None:
    if odd_quotes(spot.text):
        return spot, 'a quote (") is missing on this line: a text stands between two of them'
    if spot.text.count("'") % 2 and '"' not in spot.text and re.search('Expected "\'"|invalid char', spot.message):
        return spot, "a quote (') is missing on this line: a text stands between two of them"
    if re.search(r"\\|hex|scalar", spot.message):
        return spot, r"write \\ where a \ is meant"
    return None


def _equals(spot: Spot) -> Told | None:
    lacking = "Expected '='" in spot.message
    if not lacking and "Invalid" not in spot.message:
        return None
    how = _foreign_letter(spot) or (_colon(spot) if lacking else "") or _slip_of_pair(spot)
    if not how and lacking:
        how = "put = between the key and its value, or # before a remark"
    return (spot, how) if how else None


def _foreign_letter(spot: Spot) -> str:
    foreign = spot.here.isalpha() and not spot.here.isascii()
    return f"a key is written in plain letters, digits, _ and -, not with {spot.here}" if foreign else ""


def _colon(spot: Spot) -> str:
    colon = spot.text[spot.column :].lstrip().startswith(":")
    return "write = instead of : between the key and its value" if colon else ""


def _slip_of_pair(spot: Spot) -> str:
    if not spot.pair:
        return ""
    key, value = spot.pair
    if not key:
        return "the key before = is missing"
    if not value.partition("#")[0].strip():
        return f"a value is missing after {key} ="
    if " " in key and not BARE_KEY.match(key):
        return f"a key has no spaces: write {key.replace(' ', '_')}"
    return ""


_RULES: tuple[Rule, ...] = (
    _conflict, _unseen, decimal_comma, smart_quotes, _header, _twice, odd_day, odd_number,
    _not_closed, _equals, _long_text, _quote, one_too_many, bare_word,
)  # fmt: skip
