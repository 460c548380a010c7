"""Files from somebody else: read in memory by strict rules, never unpacked, never trusted."""

import os
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import BinaryIO

from rounds.errors import BadInput, NotFound
from rounds.history.disk import Disk
from rounds.history.strict import DEFAULT_LIMITS, SizeLimits
from rounds.text import clean_line

HISTORY_ENTRY = re.compile(
    r"(?:history/)?(?P<device>[a-z0-9][a-z0-9_-]{0,39})/(?P<year>[0-9]{4})/(?P<month>[0-9]{4}-(?:0[1-9]|1[0-2]))\.jsonl?\Z"
)
BESIDE_A_HISTORY = re.compile(
    r"bundle\.json\Z|(?:farm|feeds|shelf)\.toml\Z|checklists/[a-z0-9][a-z0-9_-]{0,39}\.toml\Z"
    r"|(?:history/)?[a-z0-9][a-z0-9_-]{0,39}/trust\.lines\Z"
)
"""What else a bundle holds; a merge passes it over."""


_LONGEST_END = 22 + 65_535 + 20
"""The last record of a zip, with its comment and with what points to a longer list before it. [bytes]"""
_LONGEST_ENTRY = 400
"""What an entry takes in the list of files, its name and times included. [bytes]"""
_NO_ZIP = (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError, OSError, zlib.error)


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
    return dict(each_in_zip(path, allowed, limits))


def each_in_zip(
    path: Path, allowed: Sequence[re.Pattern[str]], limits: SizeLimits = DEFAULT_LIMITS
) -> Iterator[tuple[str, bytes]]:
    """Read them one after the other. Parameters and errors as for `read_zip`; an error may come after some of them."""
    try:
        file = Disk().open_any(path)
    except OSError as error:
        raise NotFound(f"The file {clean_line(str(path))} cannot be read: {error.strerror or error}.") from error
    with file:
        try:
            check_zip_size(path, file, limits)
            with zipfile.ZipFile(file) as archive:
                entries = [each for each in archive.infolist() if not each.is_dir()]
                _check_entries(entries, allowed, limits)
                for each in entries:
                    yield each.filename, _unpacked(archive, each, limits)
        except _NO_ZIP as error:
            if isinstance(error, BadInput):
                raise
            raise BadInput(f"{clean_line(path.name)} is not a sound zip file: {clean_line(str(error))}.") from error


def check_zip_size(path: Path, file: BinaryIO, limits: SizeLimits = DEFAULT_LIMITS) -> None:
    """Refuse a file that is too large, or whose list of files is: the reader of zips would make all of it."""
    size = file.seek(0, os.SEEK_END)
    if size > limits.total_bytes:
        raise BadInput(f"The file {clean_line(path.name)} is larger than any bundle.")
    file.seek(max(0, size - _LONGEST_END))
    end = file.read()
    place = end.rfind(b"PK\x05\x06")
    if place >= 0 and (b"PK\x06\x07" in end[:place] or _number(end, place + 12, 4) > limits.entries * _LONGEST_ENTRY):
        raise BadInput(f"The list of files in {clean_line(path.name)} is longer than that of any bundle.")


def _number(data: bytes, place: int, length: int) -> int:
    return int.from_bytes(data[place : place + length], "little")


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
