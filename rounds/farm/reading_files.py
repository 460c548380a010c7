"""From TOML text to models, collecting every mistake on the way instead of stopping at the first."""

from __future__ import annotations

import math
import sys
from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime, time
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from rounds.farm.farm import Mistake
from rounds.text import clean, clean_line
from rounds.toml_bounds import loads, read_bounded

T = TypeVar("T")
_OF_ONE_LINE = frozenset({"name", "what", "phone", "label", "id", "kind"})
MOST_UNKNOWN = 20
"""So many keys of one table that nobody knows are told one by one: comparing each with all that are known is slow."""
_WORDS = {
    "number": "a number", "string": "a text", "integer": "a whole number", "array": "a list", "object": "a table",
    "boolean": "true or false", "null": "nothing",
}  # fmt: skip


class MistakeList(list[Mistake]):
    """Mistakes of one farm, gathered while its files are read."""

    def note(self, file: str, key: str, found: object, expected: str) -> None:
        """Write down one mistake."""
        quoted = "nothing" if found == "nothing" else shown(found)
        self.append(Mistake(file=file, key=key, found=quoted, expected=expected))

    def unreadable(self, file: str, what: str, expected: str, *, where: str = "", picture: str = "") -> None:
        """Write down that nothing of a file can be read."""
        self.append(
            Mistake(file=file, key="", found=what, expected=expected, where=where, unreadable=True, picture=picture)
        )


def read_toml(path: Path, mistakes: MistakeList) -> dict[str, Any]:
    """The tables of a TOML file; an empty one, with a mistake noted, where it cannot be read."""
    try:
        data = read_bounded(path)
    except FileNotFoundError:
        mistakes.unreadable(path.name, "is missing", "put it into the farm folder")
    except OSError as error:
        mistakes.unreadable(path.name, "can't be opened", clean_line(error.strerror or "the disk refuses"))
    else:
        return cleaned(_tables(path.name, data, mistakes))
    return {}


def _tables(name: str, data: bytes, mistakes: MistakeList) -> dict[str, Any]:
    try:
        return loads(data.decode("utf-8-sig"))
    except ValueError:
        from rounds.farm.toml_slips import Slip, read_tables  # not needed where all is well

        read = read_tables(data)
    if not isinstance(read, Slip):
        return read
    where = f"line {read.line}, column {read.column}"
    mistakes.unreadable(name, "can't be read", read.how, where=where, picture=read.picture)
    return {}


def cleaned(tables: dict[str, Any]) -> dict[str, Any]:
    """Tables with all their texts made harmless: what a terminal would obey becomes U+FFFD, at any depth."""
    return {_clean_key(key): _cleaned(value, key) for key, value in tables.items()}


def _cleaned(value: Any, key: str) -> Any:
    if isinstance(value, str):
        if value.isprintable():
            return value
        text = clean(value, sys.maxsize)
        return text.replace("\n", " ") if key in _OF_ONE_LINE else text
    if isinstance(value, dict):
        return cleaned(value)
    return [_cleaned(each, key) for each in value] if isinstance(value, list) else value


def _clean_key(key: str) -> str:
    return key if key.isprintable() else clean_line(key, sys.maxsize)


def read_part(raw: object, kind: type[T], file: str, key: str, mistakes: MistakeList) -> T | None:
    """One table as its model, or None with all of its mistakes noted."""
    try:
        return msgspec.convert(raw, kind, strict=True)
    except msgspec.ValidationError as error:
        _note_all(raw, kind, file, key, mistakes, error)
        return None


def shown(value: object) -> str:
    """A value as it is quoted in a mistake: short, and on one line."""
    text = value if isinstance(value, str) and not value.isidentifier() else repr(value)
    one_line = "".join(c if c.isprintable() else "\ufffd" for c in str(text))
    return one_line if len(one_line) <= 80 else one_line[:79] + "…"


def plain(value: object) -> object:
    """A TOML value with its dates, and its infinite numbers, as text: JSON knows neither."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain(inner) for inner in value]
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return value.isoformat() if isinstance(value, date | datetime | time) else value


def _note_all(
    raw: object, kind: type[Any], file: str, key: str, mistakes: MistakeList, first: msgspec.ValidationError
) -> None:
    from jsonschema import Draft202012Validator

    validator = Draft202012Validator(msgspec.json.schema(kind))
    before = len(mistakes)
    for error in sorted(validator.iter_errors(plain(raw)), key=lambda e: [str(p) for p in e.absolute_path]):
        path = key + "".join(f"[{p}]" if isinstance(p, int) else f".{p}" for p in error.absolute_path)
        _note_one(error, file, path.lstrip("."), mistakes)
    if len(mistakes) == before:
        _note_first(first, file, key, mistakes)


def _note_one(error: Any, file: str, path: str, mistakes: MistakeList) -> None:
    schema = error.schema if isinstance(error.schema, dict) else {}
    if error.validator == "required":
        missing = error.message.split("'")[1]
        mistakes.note(file, f"{path}.{missing}", "nothing", "a value")
    elif error.validator == "additionalProperties":
        note_unknown(error.instance, sorted(schema.get("properties", {})), file, f"{path}.", mistakes)
    else:
        mistakes.note(file, path, error.instance, _expectation(error, schema))


def _expectation(error: Any, schema: Any) -> str:
    if told := _description(schema):
        return told
    match error.validator:
        case "enum":
            return "one of " + ", ".join(str(option) for option in error.validator_value)
        case "const":
            return str(error.validator_value)
        case "type":
            return _WORDS.get(str(error.validator_value), str(error.validator_value))
        case "minItems" | "maxItems":
            return f"a list of {schema.get('minItems', schema.get('maxItems'))} values"
        case "anyOf":
            return _any_of([_expectation(each, each.schema) for each in error.context])
    return str(error.message)


def _description(schema: Any) -> str:
    """What a schema says of itself in words; a table is told by its keys."""
    said = isinstance(schema, dict) and schema.get("type") != "object"
    return str(schema.get("description", "")) if said else ""


def _any_of(expectations: Iterable[str]) -> str:
    return " or ".join(dict.fromkeys(text for text in expectations if text != "nothing")) or "another value"


def _note_first(first: msgspec.ValidationError, file: str, key: str, mistakes: MistakeList) -> None:
    """A mistake that only the model itself sees, such as two keys that exclude each other."""
    message, _, where = str(first).partition(" - at `$")
    path = key + where.rstrip("`")
    name, colon, rest = message.partition(": ")
    expected, found = rest.removeprefix("expected "), "what stands there"
    if ", found " in expected:
        expected, _, found = expected.rpartition(", found ")
    if colon:
        mistakes.append(Mistake(file=file, key=f"{path}.{name}", found=found, expected=expected))
    else:
        mistakes.append(Mistake(file=file, key=path, found="a value that does not fit", expected=message))


def note_unknown(
    table: Mapping[str, object], known: Collection[str], file: str, path: str, mistakes: MistakeList
) -> None:
    """Write down the keys of a table that nobody knows."""
    unknown = [name for name in table if name not in known]
    for name in unknown[:MOST_UNKNOWN]:
        mistakes.note(file, f"{path}{name}", table[name], no_such_key(name, known))
    if len(unknown) > MOST_UNKNOWN:
        found = f"{len(unknown) - MOST_UNKNOWN} more keys"
        mistakes.append(Mistake(file=file, key=path.rstrip("."), found=found, expected="keys that are known"))


def no_such_key(name: str, known: Collection[str]) -> str:
    """What is expected instead of a key that there is none of, with the likely one."""
    from difflib import get_close_matches

    near = get_close_matches(name, known, n=1)
    return f"no such key; known are {', '.join(known)}" + (f"; did you mean {near[0]}?" if near else "")
