"""A bundle: the farm, its checklists and its recent history in one zip with a checksum for each file."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from hashlib import sha256
from io import BytesIO
from pathlib import Path

import msgspec

from rounds.errors import NotSaved, Refused
from rounds.history.disk import Disk, write_new
from rounds.history.files import list_months
from rounds.history.merge import sound_lines
from rounds.relief.bundled_keys import handed_back, relief_key
from rounds.relief.farm_files import FARM_FILES, check_toml
from rounds.relief.sheet import Relief, records_for_doses
from rounds.trust.signing import sign
from rounds.walk.session import Session

FORM, VERSION = "rounds-bundle", 2
"""Version 2 holds farm files of format 2; all others are still made as version 1, which older programs open."""
MANIFEST = "bundle.json"
LEAST_DAYS = 60
"""So much history is included: corrections look back to the last change-out."""


class Manifest(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a bundle says about itself."""

    form: str
    version: int
    farm: str
    made: datetime
    made_by: str
    """The device that made it."""
    files: dict[str, str]
    """Name and SHA-256 of every other file."""
    person: str = ""
    first: date | None = None
    last: date | None = None
    key: str = ""
    """Private half of the helper's key: it goes to the helper's own folder of keys, never into the farm's."""


def write_bundle(session: Session, relief: Relief, path: Path) -> Manifest:
    """Bundle what a helper's laptop needs, with a key to sign with on these days.

    Raises
    ------
    Refused
        Where the farm's own files have mistakes: the other laptop would refuse them.
    BadInput
        Where one of them holds what the other laptop takes from nobody.
    NotSaved
        Where the file could not be written, or no key be made.
    """
    if session.mistakes:
        raise Refused(f"The farm's files have mistakes, the first: {session.mistakes[0]}", "`rounds check` lists them.")
    key, stated = relief_key(session, relief)
    files = _farm_files(session.farm.folder) | _journals(session, since=_since(session)) | stated
    return _write(session, files, path, relief, key=key)


def write_back(session: Session, path: Path, *, disk: Disk | None = None) -> Manifest:
    """Bundle what was written down on this laptop, signed, to be handed back and merged.

    Raises
    ------
    NotSaved
        Where the file could not be written, or nothing was written down here.
    """
    files = _journals(session, device=session.history.device)
    if not files:
        raise NotSaved("Nothing was written down on this laptop, so there is nothing to hand back.")
    sign(session.history, session.now())
    return _write(session, files | handed_back(session.history), path, None, disk=disk)


def packed(manifest: Manifest, files: Mapping[str, bytes]) -> bytes:
    """The zip itself: names in order and one time, so that the same farm makes the same bundle."""
    import zipfile

    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in [(MANIFEST, msgspec.json.encode(manifest)), *sorted(files.items())]:
            archive.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def write_file(path: Path, data: bytes, *, disk: Disk | None = None) -> None:
    """Write a file as a whole or not at all, so that it stays after a power cut.

    Raises
    ------
    NotSaved
        With what the system says.
    """
    try:
        write_new(disk or Disk(), path, data)
    except OSError as error:
        path.with_name(path.name + ".tmp").unlink(missing_ok=True)
        why = error.strerror or str(error)
        raise NotSaved(f"{path} could not be written: {why}.", "Name a file in a folder that is there.") from error


def _write(
    session: Session, files: Mapping[str, bytes], path: Path, relief: Relief | None, *, key: str = "",
    disk: Disk | None = None,
) -> Manifest:  # fmt: skip
    manifest = Manifest(
        form=FORM,
        version=_version(files),
        farm=session.farm.name,
        made=session.now(),
        made_by=session.history.device,
        files={name: sha256(data).hexdigest() for name, data in sorted(files.items())},
        person=relief.person.id if relief else "",
        first=relief.days[0] if relief else None,
        last=relief.days[-1] if relief else None,
        key=key,
    )
    write_file(path, packed(manifest, files), disk=disk)
    return manifest


def _version(files: Mapping[str, bytes]) -> int:
    """The lowest version that a program must know to read these files."""
    tables = [tomllib.loads(files[name].decode("utf-8-sig")) for name in FARM_FILES if name in files]
    return VERSION if any(table.get("format", 1) != 1 for table in tables) else 1


def _farm_files(folder: Path) -> dict[str, bytes]:
    own = sorted((folder / "checklists").glob("*.toml"))
    try:
        found = {name: (folder / name).read_bytes() for name in FARM_FILES}
        found |= {f"checklists/{path.name}": path.read_bytes() for path in own}
    except OSError as error:
        raise NotSaved(f"{error.filename} cannot be read: {error.strerror}.") from error
    for name, data in found.items():
        check_toml(name, data)
    return found


def _since(session: Session) -> datetime:
    """Back to the last counting of the shelf, so that what is left on it can be worked out elsewhere too.

    And back to the oldest measurement that counts: a helper doses by the same pump, tub and water.
    """
    first = session.now() - timedelta(days=LEAST_DAYS)
    measured = [kept.at for kept in session.numbers.standing()]
    return min([first, *measured, *(record.measured_at for record in records_for_doses(session)[:1])])


def _journals(session: Session, *, since: datetime | None = None, device: str = "") -> dict[str, bytes]:
    """Whole months of journals, without what the other laptop would refuse; read while nothing is written."""
    history = session.history
    history.refresh()
    first = since.astimezone().strftime("%Y-%m") if since else ""
    wanted = {key: m for key, m in list_months(history.folder).items() if key[1] >= first and device in ("", key[0])}
    found = {}
    for (name, month), files in wanted.items():
        if files.journal.exists():
            lines = sound_lines(name, files.journal.read_bytes())
            found[f"history/{name}/{month[:4]}/{month}.jsonl"] = lines
    return found


def free_name(folder: Path, stem: str, suffix: str) -> Path:
    """A file name in a folder that nothing has yet."""
    names = (folder / f"{stem}{mark}{suffix}" for mark in ("", *(f"-{n}" for n in range(2, 1000))))
    return next(name for name in names if not os.path.lexists(name))
