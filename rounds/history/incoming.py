"""Files from somebody else: read in memory by strict rules, never unpacked, never trusted."""

import json
import math
import re
import stat
import zipfile
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, NoReturn

import msgspec

from rounds.errors import BadInput, NotFound
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


HISTORY_ENTRY = re.compile(
    r"(?:history/)?(?P<device>[a-z0-9][a-z0-9_-]{0,39})/(?P<year>[0-9]{4})/(?P<month>[0-9]{4}-(?:0[1-9]|1[0-2]))\.jsonl?\Z"
)
BESIDE_A_HISTORY = re.compile(
    r"bundle\.json\Z|(?:farm|feeds|shelf)\.toml\Z|checklists/[a-z0-9][a-z0-9_-]{0,39}\.toml\Z"
    r"|(?:history/)?[a-z0-9][a-z0-9_-]{0,39}/trust\.lines\Z"
)
"""What else a bundle holds; a merge passes it over."""
MOST = 10**16
DEFAULT_LIMITS = SizeLimits()


def read_zip(path: Path, allowed: Sequence[re.Pattern[str]], limits: SizeLimits = DEFAULT_LIMITS) -> dict[str, bytes]:
    """Read the files of a zip in memory; one that breaks a rule has the whole zip refused.

    Parameters
    ----------
    path : Path
        The zip.
    allowed : sequence of Pattern
        Every name must match one of these as a whole.
    limits : Limits
        How much is taken in at most.

    Raises
    ------
    NotFound
        Where there is no such file.
    BadInput
        Where it is no zip, or breaks a rule; the sentence names the rule.
    """
    try:
        if path.stat().st_size > limits.total_bytes:
            raise BadInput(f"The file {clean_line(path.name)} is larger than any bundle.")
        raw = path.read_bytes()
    except OSError as error:
        raise NotFound(f"The file {clean_line(str(path))} cannot be read: {error.strerror}.") from error
    try:
        with zipfile.ZipFile(BytesIO(raw)) as archive:
            entries = [each for each in archive.infolist() if not each.is_dir()]
            _check_entries(entries, allowed, limits)
            return {each.filename: _unpacked(archive, each, limits) for each in entries}
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError, OSError, zlib.error) as error:
        if isinstance(error, BadInput):
            raise
        raise BadInput(f"{clean_line(path.name)} is not a sound zip file: {clean_line(str(error))}.") from error


def strict_json(data: bytes, limits: SizeLimits = DEFAULT_LIMITS) -> Any:
    """Read JSON (RFC 8259) strictly: UTF-8, no byte order mark, no NaN, no key twice, no huge number, no deep nesting.

    Raises
    ------
    BadInput
        Where it breaks a rule.
    """
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
    return value


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
    try:
        doc = msgspec.json.decode(body)
        plain = msgspec.json.encode(doc) == body
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError, OverflowError):
        plain = False
    if not plain:
        doc = strict_json(body, limits)
    if not isinstance(doc, dict):
        raise BadInput("A line holds something other than a record.")
    _check_depth(doc, limits.depth)
    return doc


def _check_entries(entries: list[zipfile.ZipInfo], allowed: Sequence[re.Pattern[str]], limits: SizeLimits) -> None:
    if len(entries) > limits.entries:
        raise BadInput(f"The zip holds {len(entries)} files.", f"At most {limits.entries} are taken in.")
    if sum(each.file_size for each in entries) > limits.total_bytes:
        raise BadInput("The zip is too large when unpacked.", f"At most {limits.total_bytes} bytes are taken in.")
    names = [each.filename for each in entries]
    if len(set(names)) < len(names):
        raise BadInput("The zip holds two files of the same name.")
    for entry in entries:
        _check_entry(entry, allowed, limits)


def _check_entry(entry: zipfile.ZipInfo, allowed: Sequence[re.Pattern[str]], limits: SizeLimits) -> None:
    name = clean_line(entry.filename, 80)
    if not any(pattern.fullmatch(entry.filename) for pattern in allowed):
        raise BadInput(f"The zip holds a file that is not expected: {name}.")
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise BadInput(f"The file {name} in the zip is packed in a way that is not taken in.")
    if stat.S_ISLNK(entry.external_attr >> 16) or entry.flag_bits & 1:
        raise BadInput(f"The file {name} in the zip is a link or encrypted.")
    if entry.file_size > limits.entry_bytes or entry.file_size > limits.ratio * max(entry.compress_size, 1):
        raise BadInput(f"The file {name} in the zip is too large when unpacked.")


def _unpacked(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, limits: SizeLimits) -> bytes:
    with archive.open(entry) as file:
        data = file.read(min(entry.file_size, limits.entry_bytes) + 1)
    if len(data) != entry.file_size:
        raise BadInput(f"The file {clean_line(entry.filename, 80)} in the zip is not as large as it says.")
    return data


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
