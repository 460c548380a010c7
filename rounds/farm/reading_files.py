"""From TOML text to models, collecting every mistake on the way instead of stopping at the first."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Collection, Iterable
from datetime import date, datetime, time
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from rounds.farm.farm import Mistake

T = TypeVar("T")
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
        data = path.read_bytes()
    except FileNotFoundError:
        mistakes.unreadable(path.name, "is missing", "put it into the farm folder")
    except OSError as error:
        mistakes.unreadable(path.name, "can't be opened", error.strerror or "the disk refuses")
    else:
        return _tables(path.name, data, mistakes)
    return {}


def _tables(name: str, data: bytes, mistakes: MistakeList) -> dict[str, Any]:
    try:
        return tomllib.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        from rounds.farm.toml_slips import Slip, read_tables  # not needed where all is well

        read = read_tables(data)
    if not isinstance(read, Slip):
        return read
    where = f"line {read.line}, column {read.column}"
    mistakes.unreadable(name, "can't be read", read.how, where=where, picture=read.picture)
    return {}


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
        known = set(schema.get("properties", {}))
        for name in [n for n in error.instance if n not in known]:
            mistakes.note(file, f"{path}.{name}", error.instance[name], no_such_key(name, sorted(known)))
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


def no_such_key(name: str, known: Collection[str]) -> str:
    """What is expected instead of a key that there is none of, with the likely one."""
    from difflib import get_close_matches

    near = get_close_matches(name, known, n=1)
    return f"no such key; known are {', '.join(known)}" + (f"; did you mean {near[0]}?" if near else "")
