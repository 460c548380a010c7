"""A bundle: the farm, its checklists and its recent history in one zip with a checksum for each file."""

from __future__ import annotations

import os
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
from rounds.relief.farm_files import FARM_FILES, check_toml
from rounds.relief.sheet import Relief, records_for_doses
from rounds.walk.session import Session

FORM, VERSION = "rounds-bundle", 1
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


def write_bundle(session: Session, relief: Relief, path: Path) -> Manifest:
    """Bundle what a helper's laptop needs.

    Raises
    ------
    Refused
        Where the farm's own files have mistakes: the other laptop would refuse them.
    BadInput
        Where one of them holds what the other laptop takes from nobody.
    NotSaved
        Where the file could not be written.
    """
    if session.mistakes:
        raise Refused(f"The farm's files have mistakes, the first: {session.mistakes[0]}", "`rounds check` lists them.")
    files = _farm_files(session.farm.folder) | _journals(session, since=_since(session))
    return _write(session, files, path, relief)


def write_back(session: Session, path: Path) -> Manifest:
    """Bundle what was written down on this laptop, to be handed back and merged.

    Raises
    ------
    NotSaved
        Where the file could not be written, or nothing was written down here.
    """
    files = _journals(session, device=session.history.device)
    if not files:
        raise NotSaved("Nothing was written down on this laptop, so there is nothing to hand back.")
    return _write(session, files, path, None)


def packed(manifest: Manifest, files: Mapping[str, bytes]) -> bytes:
    """The zip itself: names in order and one time, so that the same farm makes the same bundle."""
    import zipfile

    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in [(MANIFEST, msgspec.json.encode(manifest)), *sorted(files.items())]:
            archive.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def write_file(path: Path, data: bytes) -> None:
    """Write a file as a whole or not at all.

    Raises
    ------
    NotSaved
        With what the system says.
    """
    try:
        write_new(Disk(), path, data)
    except OSError as error:
        path.with_name(path.name + ".tmp").unlink(missing_ok=True)
        why = error.strerror or str(error)
        raise NotSaved(f"{path} could not be written: {why}.", "Name a file in a folder that is there.") from error


def _write(session: Session, files: Mapping[str, bytes], path: Path, relief: Relief | None) -> Manifest:
    manifest = Manifest(
        form=FORM,
        version=VERSION,
        farm=session.farm.name,
        made=session.now(),
        made_by=session.history.device,
        files={name: sha256(data).hexdigest() for name, data in sorted(files.items())},
        person=relief.person.id if relief else "",
        first=relief.days[0] if relief else None,
        last=relief.days[-1] if relief else None,
    )
    write_file(path, packed(manifest, files))
    return manifest


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
    """Back to the last counting of the shelf, so that what is left on it can be worked out elsewhere too."""
    first = session.now() - timedelta(days=LEAST_DAYS)
    records = records_for_doses(session)
    return min(first, records[0].measured_at) if records else first


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
