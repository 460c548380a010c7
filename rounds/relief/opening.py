"""Opening a bundle from somebody else: checked as a whole in memory, and only then written into a new folder."""

from __future__ import annotations

import re
import shutil
from collections.abc import Mapping
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path

import msgspec

from rounds.errors import BadInput, NotSaved, Refused
from rounds.history.beside import beside
from rounds.history.disk import Disk, write_folder
from rounds.history.incoming import BESIDE_A_HISTORY, check_zip_size, read_zip
from rounds.history.merge import checked_files
from rounds.history.strict import SizeLimits, strict_json
from rounds.relief.bundle import FORM, MANIFEST, VERSION, Manifest, free_name
from rounds.relief.bundled_keys import read_relief_key
from rounds.relief.farm_files import FARM_FILES, check_toml
from rounds.text import clean_line, is_clean
from rounds.trust.keys import keep_pair
from rounds.walk.walker import WALKING_FILE, walking_file

JOURNAL = re.compile(r"history/[a-z0-9][a-z0-9_-]{0,39}/[0-9]{4}/[0-9]{4}-(?:0[1-9]|1[0-2])\.jsonl\Z")
LIMITS = SizeLimits(entries=600, total_bytes=128 << 20, entry_bytes=32 << 20)


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A bundle that was found sound."""

    manifest: Manifest
    files: Mapping[str, bytes]
    records: int
    told: tuple[str, ...] = ()
    """What went less well than it should."""

    @property
    def has_farm(self) -> bool:
        """Whether a whole farm is in it, and not only records handed back."""
        return "farm.toml" in self.files


def read_bundle(path: Path) -> Opened:
    """Read a bundle in memory and check everything in it; nothing is written.

    Raises
    ------
    NotFound
        Where there is no such file.
    BadInput
        Where anything in it breaks a rule: then all of it is refused.
    """
    files = read_zip(path, [BESIDE_A_HISTORY, JOURNAL], LIMITS)
    manifest = _manifest(files.pop(MANIFEST, None))
    _check_sums(manifest, files)
    if manifest.key:
        read_relief_key(manifest.key)
    journals = {name: data for name, data in files.items() if JOURNAL.fullmatch(name)}
    for name, data in files.items():
        if name.endswith(".toml"):
            check_toml(name, data)
    if any(name in files for name in FARM_FILES) and not all(name in files for name in FARM_FILES):
        raise BadInput("The bundle holds a part of a farm only.", "Have it made again.")
    return Opened(manifest=manifest, files=files, records=checked_files(journals))


def is_bundle(path: Path) -> bool:
    """Whether a file claims to be a bundle, sound or not."""
    import zipfile

    try:
        with Disk().open_any(path) as file:
            check_zip_size(path, file, LIMITS)
            with zipfile.ZipFile(file) as archive:
                return MANIFEST in archive.namelist()
    except (BadInput, OSError, zipfile.BadZipFile, ValueError, NotImplementedError):
        return False


def open_bundle(path: Path, target: Path, *, disk: Disk | None = None) -> Opened:
    """Write a sound bundle into a new folder; when it returns, all of it stays after a power cut.

    It is written beside its place and moved there last, so that a cut leaves either no farm or the whole one: a farm
    without its history would be dosed as if nothing had been poured.
    Whom it was made for walks there unless somebody else is named.

    Raises
    ------
    BadInput, NotFound
        As for `read_bundle`.
    Refused
        Where the folder is there already, or the bundle holds no farm.
    NotSaved
        Where the folder could not be written; nothing of it is left then.
    """
    opened = read_bundle(path)
    if not opened.has_farm:
        raise Refused("This bundle holds records only, no farm.", "Take it in with `rounds merge FARM BUNDLE`.")
    if target.is_symlink() or target.exists():
        there, here = beside(target).farm_name, opened.manifest.farm
        named = f": it is “{there}”, and the bundle is of “{here}”" if there and there != here else ""
        raise Refused(f"{target} is there already{named}.", "Name a folder that is not there yet.")
    person = opened.manifest.person
    walking = {WALKING_FILE: walking_file(person)} if person else {}
    kept = _keep_key(opened)
    _write_whole(disk or Disk(), {**opened.files, **walking}, target)
    return kept


def _keep_key(opened: Opened) -> Opened:
    """Keep the key before there is a farm to sign in; without it the farm opens all the same, and says so."""
    try:
        if opened.manifest.key:
            keep_pair(read_relief_key(opened.manifest.key))
    except NotSaved as error:
        return replace(opened, told=(f"{error} What is written here will come back unsigned.",))
    return opened


def _write_whole(disk: Disk, files: Mapping[str, bytes], target: Path) -> None:
    made = free_name(target.parent, target.name, ".unfinished")
    try:
        write_folder(disk, made, files)
        disk.replace(made, target)
        made = target
        disk.sync_folder(target.parent)
    except OSError as error:
        shutil.rmtree(made, ignore_errors=True)
        raise NotSaved(f"{target} could not be written: {error.strerror or error}.", "Nothing was kept.") from error


def folder_name(opened_name: str) -> str:
    """A folder name from a farm's name: small letters, digits and hyphens.

    Examples
    --------
    >>> folder_name("Hollow Lane / ../x")
    'hollow-lane-x'
    """
    return re.sub(r"[^a-z0-9]+", "-", opened_name.casefold()).strip("-")[:40] or "farm"


def _manifest(data: bytes | None) -> Manifest:
    if data is None:
        raise BadInput("This zip is not a bundle: it has no bundle.json.", "`rounds relief --bundle` makes one.")
    raw = strict_json(data, LIMITS)
    if not isinstance(raw, dict) or raw.get("form") != FORM:
        raise BadInput("bundle.json does not say that this is a bundle.", "`rounds relief --bundle` makes one.")
    if isinstance(raw.get("version"), int) and raw["version"] > VERSION:
        raise BadInput(
            "This bundle was made by a newer version of this program.", "Bring this laptop up to date first."
        )
    try:
        manifest = msgspec.convert(raw, Manifest, strict=True)
    except msgspec.ValidationError as error:
        raise BadInput(f"bundle.json is not as it should be: {clean_line(str(error))}.") from error
    if not all(map(is_clean, (manifest.farm, manifest.person, manifest.made_by))):
        raise BadInput("bundle.json holds characters that a terminal would obey.")
    return manifest


def _check_sums(manifest: Manifest, files: Mapping[str, bytes]) -> None:
    if set(manifest.files) != set(files):
        odd = sorted(set(manifest.files) ^ set(files))[0]
        raise BadInput(f"The bundle and its own list differ: {clean_line(odd, 80)}.", "Have it made again.")
    for name, data in files.items():
        if sha256(data).hexdigest() != manifest.files[name]:
            raise BadInput(f"{clean_line(name, 80)} in the bundle does not match its checksum.", "Have it made again.")
