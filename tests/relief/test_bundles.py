"""Bundles out and back; and bad ones, each refused whole with one sentence and nothing on the disk."""

from __future__ import annotations

import json
import shutil
import stat
import zipfile
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from rounds.errors import BadInput, NotFound, NotSaved, Refused, RoundsError
from rounds.history.merge import apply
from rounds.history.record import Draft
from rounds.relief.bundle import write_back, write_bundle
from rounds.relief.handed_over import looked_at
from rounds.relief.opening import folder_name, open_bundle, read_bundle
from rounds.relief.sheet import relief_for
from rounds.walk.session import Session

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
Open = Callable[..., Session]


def reading(value: float, at: datetime = AT, **more: Any) -> Draft:
    return Draft(kind="reading", station="res-1", item="ph", value=value, measured_at=at, **more)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the farm lies in every test: a laptop's name in a folder for tests goes by the place."""
    return tmp_path_factory.mktemp("here") / "farm"


@pytest.fixture
def farm_folder(place: Path, lay_out_farm: Callable[[Path], Path]) -> Path:
    """The small farm, anew for each test."""
    shutil.rmtree(place, ignore_errors=True)
    return lay_out_farm(place)


@pytest.fixture(scope="module")
def packed(place: Path, tmp_path_factory: pytest.TempPathFactory, lay_out_farm: Callable[[Path], Path]) -> Path:
    """The small farm with two readings in it, and a sound bundle of it; never written to."""
    folder = tmp_path_factory.mktemp("packed")
    shutil.rmtree(place, ignore_errors=True)
    session = Session.open(lay_out_farm(place), clock=lambda: AT)
    with session.history:
        session.save(reading(6.0), reading(6.1, AT - timedelta(days=3), note="steady"))
        path = folder / "farm.zip"
        write_bundle(session, relief_for(session, "ben", date(2026, 11, 26), date(2026, 11, 28)), path)
    place.rename(folder / "farm")
    return folder


@pytest.fixture
def bundle(packed: Path, farm_folder: Path, tmp_path: Path) -> Path:
    """A copy of the bundle; the farm's folder has the readings too."""
    shutil.copytree(packed / "farm", farm_folder, dirs_exist_ok=True)
    return Path(shutil.copy(packed / "farm.zip", tmp_path))


def members(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def rebuilt(path: Path, files: dict[str, bytes], *, sums: bool = True) -> Path:
    """The bundle anew from changed files, its list of checksums brought up to date where wanted."""
    manifest = json.loads(files["bundle.json"])
    if sums:
        manifest["files"] = {name: sha256(data).hexdigest() for name, data in files.items() if name != "bundle.json"}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in (files | {"bundle.json": json.dumps(manifest).encode()}).items():
            archive.writestr(name, data)
    return path


def journal_of(files: dict[str, bytes]) -> str:
    return next(name for name in files if name.endswith(".jsonl"))


def sealed(doc: dict[str, Any] | bytes) -> bytes:
    from rounds.history.journal import sealed as seal

    return seal(doc if isinstance(doc, bytes) else json.dumps(doc, separators=(",", ":")).encode())


def with_record(path: Path, body: bytes, *, name: str | None = None) -> Path:
    files = members(path)
    files[name or journal_of(files)] = files.get(name or journal_of(files), b"") + sealed(body)
    return rebuilt(path, files)


def record_doc(path: Path) -> dict[str, Any]:
    """One sound record of the bundle, as a pattern for forged ones."""
    from rounds.history.journal import opened as unsealed

    files = members(path)
    body = unsealed(files[journal_of(files)].split(b"\n")[0])
    assert body is not None
    found: dict[str, Any] = json.loads(body)
    return found | {"id": "0197e2a0-0000-7000-8000-0000000000aa", "seq": 900, "lamport": 900}


def refuse(path: Path, tmp_path: Path, *, match: str | None = None) -> str:
    """It is refused with one sentence, and neither read nor opened leaves anything behind."""
    target = tmp_path / "opened"
    before = sorted(p.name for p in tmp_path.rglob("*"))
    with pytest.raises(RoundsError, match=match) as caught:
        open_bundle(path, target)
    assert sorted(p.name for p in tmp_path.rglob("*")) == before
    assert caught.value.sentence.count("\n") == 0
    assert caught.value.sentence.isprintable()
    return caught.value.sentence


def test_a_bundle_opens_as_the_same_farm_with_the_same_record(
    bundle: Path, farm_folder: Path, opened: Open, tmp_path: Path
) -> None:
    target = tmp_path / "theirs"
    assert open_bundle(bundle, target).records == 2
    theirs, ours = opened(target, "ben"), opened(farm_folder)
    assert theirs.farm.stations == ours.farm.stations
    assert theirs.farm.shelf == ours.farm.shelf
    assert [r.value for r in theirs.history.records()] == [6.1, 6.0]
    assert theirs.is_helper
    assert theirs.history.device != ours.history.device


def test_what_the_helper_writes_comes_back_by_merge(
    bundle: Path, farm_folder: Path, opened: Open, tmp_path: Path
) -> None:
    open_bundle(bundle, tmp_path / "theirs")
    theirs = opened(tmp_path / "theirs", "ben", AT + timedelta(days=1))
    with theirs.history:
        theirs.save(reading(6.3, AT + timedelta(days=1), person="ben", note="=1+1 [@click=app.quit] [/b]"))
        write_back(theirs, tmp_path / "back.zip")
    ours = opened(farm_folder, at=AT + timedelta(days=2))
    with ours.history:
        found = looked_at(ours, tmp_path / "back.zip")
        assert [r.value for r in ours.history.records()] == [6.1, 6.0], "a preview writes nothing"
        assert [r.value for r in found.new] == [6.3]
        assert apply(ours.history, found) == 1
        assert [r.value for r in ours.history.records()] == [6.1, 6.0, 6.3]
        assert looked_at(ours, tmp_path / "back.zip").new == (), "twice makes no difference"
        note = ours.history.records()[-1].note
    assert note == "=1+1 [@click=app.quit] [/b]"
    from rounds.history.export import to_csv

    assert "'=1+1" in to_csv(opened(farm_folder).history.records())


def test_a_folder_is_taken_back_as_well(bundle: Path, farm_folder: Path, opened: Open, tmp_path: Path) -> None:
    open_bundle(bundle, tmp_path / "theirs")
    theirs = opened(tmp_path / "theirs", "ben")
    with theirs.history:
        theirs.save(reading(6.3))
    assert [r.value for r in looked_at(opened(farm_folder), tmp_path / "theirs").new] == [6.3]


def test_a_folder_that_is_there_is_never_written_over(bundle: Path, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "farm.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(Refused, match="there already"):
        open_bundle(bundle, tmp_path / "mine")
    assert (tmp_path / "mine" / "farm.toml").read_text(encoding="utf-8") == "mine"
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    with pytest.raises(Refused, match="there already"):
        open_bundle(bundle, tmp_path / "link")


@pytest.mark.parametrize(
    "name",
    ["../evil.toml", "/etc/evil", "history/../../evil.jsonl", "C:\\evil.toml", "farm.toml/../../x",
     "checklists/../x.toml", "history/d-1/2026/2026-11.jsonl\x00.toml", "Farm.toml", "farm.toml ",
     "run.py", "history/d-1/2026/2026-13.jsonl"],
)  # fmt: skip
def test_names_that_lead_anywhere_else_are_refused(bundle: Path, tmp_path: Path, name: str) -> None:
    refuse(rebuilt(bundle, members(bundle) | {name: b"x"}), tmp_path)


def test_two_files_of_one_name_are_refused(bundle: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(bundle, "a") as archive, pytest.warns(UserWarning, match="Duplicate"):
        archive.writestr("farm.toml", b"other")
    refuse(bundle, tmp_path, match="same name")


def test_a_link_is_refused(bundle: Path, tmp_path: Path) -> None:
    files = members(bundle)
    with zipfile.ZipFile(bundle, "w") as archive:
        for name, data in files.items():
            info = zipfile.ZipInfo(name)
            if name == "shelf.toml":
                info.external_attr = (stat.S_IFLNK | 0o777) << 16
            archive.writestr(info, data)
    refuse(bundle, tmp_path, match="link")


def test_a_bomb_is_refused_before_it_is_unpacked(bundle: Path, tmp_path: Path) -> None:
    refuse(rebuilt(bundle, members(bundle) | {"checklists/big.toml": b"#" * 30_000_000}), tmp_path, match="too large")


def test_a_wrong_checksum_is_refused(bundle: Path, tmp_path: Path) -> None:
    files = members(bundle)
    files["farm.toml"] += b"\n"
    refuse(rebuilt(bundle, files, sums=False), tmp_path, match="checksum")


@pytest.mark.parametrize("change", ["more", "less"])
def test_a_list_that_differs_from_what_is_there_is_refused(bundle: Path, tmp_path: Path, change: str) -> None:
    files = members(bundle)
    if change == "more":
        files["checklists/new.toml"] = b"format = 1"
    else:
        del files["shelf.toml"]
    refuse(rebuilt(bundle, files, sums=False), tmp_path, match="differ")


def test_every_flipped_bit_in_a_member_is_noticed(bundle: Path, tmp_path: Path) -> None:
    raw = bytearray(bundle.read_bytes())
    for place in range(60, len(raw) - 600, max(1, len(raw) // 25)):
        broken = tmp_path / "broken.zip"
        changed = bytearray(raw)
        changed[place] ^= 0x10
        broken.write_bytes(bytes(changed))
        try:
            found = read_bundle(broken)
        except RoundsError:
            continue
        assert found.files == read_bundle(bundle).files, "a flip that harms nothing may pass"


@pytest.mark.parametrize(
    "body",
    [b"[" * 100_000, b'{"a":' * 100_000, b'{"value":NaN}', b'{"value":1e400}', b'{"seq":' + b"9" * 5000 + b"}",
     b'{"a":1,"a":2}', b"\xff\xfe", b"null", b"{}"],
    ids=["deep", "deeper", "nan", "infinite", "huge", "twice", "no utf-8", "no object", "no record"],
)  # fmt: skip
def test_a_line_that_is_no_sound_record_refuses_the_whole_bundle(bundle: Path, tmp_path: Path, body: bytes) -> None:
    refuse(with_record(bundle, body), tmp_path)


@pytest.mark.parametrize(
    ("change", "match"),
    [({"format": 99}, "newer version"), ({"device": "d-somebody-else"}, "folder of another device"),
     ({"id": "../../x"}, "id"), ({"seq": 2**52}, "counting"), ({"measured_at": "yesterday"}, "form"),
     ({"seq": -1}, "form"), ({"value": {"a": 1}}, "form")],
)  # fmt: skip
def test_forged_records_refuse_the_whole_bundle(
    bundle: Path, tmp_path: Path, change: dict[str, Any], match: str
) -> None:
    doc = record_doc(bundle) | change
    refuse(with_record(bundle, json.dumps(doc, separators=(",", ":")).encode()), tmp_path, match=match)


def test_a_damaged_line_refuses_the_whole_bundle(bundle: Path, tmp_path: Path) -> None:
    files = members(bundle)
    files[journal_of(files)] = files[journal_of(files)].replace(b'"value":6', b'"value":7', 1)
    refuse(rebuilt(bundle, files), tmp_path, match="damaged")
    files[journal_of(files)] = files[journal_of(files)][:-5]
    refuse(rebuilt(bundle, files), tmp_path, match="damaged or not complete")


@pytest.mark.parametrize(
    "manifest",
    [b"[]", b"{}", b"not json", b"[" * 100_000, b'{"form":"rounds-bundle","version":99}',
     b'{"form":"rounds-bundle","version":1}', b'{"form":"other","version":1}'],
    ids=range(7),
)  # fmt: skip
def test_a_list_that_is_none_is_refused(bundle: Path, tmp_path: Path, manifest: bytes) -> None:
    files = members(bundle)
    with zipfile.ZipFile(bundle, "w") as archive:
        for name, data in (files | {"bundle.json": manifest}).items():
            archive.writestr(name, data)
    refuse(bundle, tmp_path)


@pytest.mark.parametrize(
    "text",
    ["a = [" * 5_000, "format = 1\nname = 3", "\x00",
     'format = 1\nname = "x\\u001b[31m"\n[place]\nlatitude = 1\nlongitude = 1',
     'format = 1\nname = "x"\n[place]\nlatitude = nan\nlongitude = 1', "format = 2",
     "format = 99999999999999999999999999"],
    ids=["deep", "wrong type", "nul", "escape", "nan", "newer", "huge"],
)  # fmt: skip
def test_farm_files_that_are_not_sound_are_refused(bundle: Path, tmp_path: Path, text: str) -> None:
    refuse(rebuilt(bundle, members(bundle) | {"farm.toml": text.encode()}), tmp_path, match="farm.toml")


def test_what_is_no_zip_or_not_there_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "no.zip").write_bytes(b"PK\x03\x04 no zip")
    refuse(tmp_path / "no.zip", tmp_path, match="not a sound zip")
    with pytest.raises(NotFound):
        read_bundle(tmp_path / "nowhere.zip")


def test_half_a_farm_is_refused(bundle: Path, tmp_path: Path) -> None:
    files = members(bundle)
    del files["shelf.toml"]
    refuse(rebuilt(bundle, files), tmp_path, match="part of a farm")


def test_records_alone_are_not_opened_as_a_farm(bundle: Path, tmp_path: Path) -> None:
    files = {name: data for name, data in members(bundle).items() if not name.endswith(".toml")}
    refuse(rebuilt(bundle, files), tmp_path, match="no farm")


def test_a_device_that_claims_to_be_mine_is_refused_whole(
    bundle: Path, farm_folder: Path, opened: Open, tmp_path: Path
) -> None:
    # The bundle's own records are this laptop's; one more in its name that it never wrote is a forgery.
    sound = record_doc(bundle)
    forged = with_record(bundle, json.dumps(sound, separators=(",", ":")).encode())
    session = opened(farm_folder)
    before = [r.id for r in session.history.records(replaced=True)]
    with pytest.raises(BadInput, match="this laptop"):
        looked_at(session, forged)
    assert [r.id for r in opened(farm_folder).history.records(replaced=True)] == before


def test_a_farm_with_mistakes_is_not_bundled(farm_folder: Path, opened: Open, tmp_path: Path) -> None:
    with (farm_folder / "farm.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[stations]]\nkind = "ship"\nid = "x"\n')
    session = opened(farm_folder)
    with pytest.raises(Refused, match="mistakes"):
        write_bundle(session, relief_for(session, "ben", date(2026, 11, 26), date(2026, 11, 26)), tmp_path / "b.zip")
    assert not (tmp_path / "b.zip").exists()


def test_a_bundle_that_cannot_be_written_leaves_nothing(farm_folder: Path, opened: Open, tmp_path: Path) -> None:
    session = opened(farm_folder)
    relief = relief_for(session, "ben", date(2026, 11, 26), date(2026, 11, 26))
    with pytest.raises(NotSaved, match="could not be written"):
        write_bundle(session, relief, tmp_path / "no" / "folder" / "b.zip")
    with pytest.raises(NotSaved, match="nothing to hand back"):
        write_back(session, tmp_path / "back.zip")


@pytest.mark.parametrize("name", ["../../etc", "/", "..", "", "C:\\x", "Hof Süd"])
def test_a_folder_is_never_named_into_another_place(name: str) -> None:
    found = folder_name(name)
    assert found
    assert not set(found) & set("/\\.:")


def test_an_own_checklist_travels_along(farm_folder: Path, opened: Open, tmp_path: Path) -> None:
    (farm_folder / "checklists").mkdir()
    text = 'format = 1\nkind = "hens"\ntitle = "Our hens"\nrank = 5\n'
    (farm_folder / "checklists" / "hens.toml").write_text(text, encoding="utf-8")
    session = opened(farm_folder)
    relief = relief_for(session, "ben", date(2026, 11, 26), date(2026, 11, 26))
    write_bundle(session, relief, tmp_path / "b.zip")
    open_bundle(tmp_path / "b.zip", tmp_path / "theirs")
    checklist = opened(tmp_path / "theirs").checklists.of("hens")
    assert checklist is not None
    assert checklist.title == "Our hens"


def test_the_zip_is_read_and_never_extracted(bundle: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("extracted")

    monkeypatch.setattr(zipfile.ZipFile, "extract", never)
    monkeypatch.setattr(zipfile.ZipFile, "extractall", never)
    open_bundle(bundle, tmp_path / "theirs")
    assert BytesIO(bundle.read_bytes()).read(2) == b"PK"


def test_what_was_measured_long_ago_goes_along_so_that_a_helper_doses_by_the_same_numbers(
    farm_folder: Path, tmp_path: Path
) -> None:
    session = Session.open(farm_folder, clock=lambda: AT)
    pump = {"item": "measured:pump", "value": 12.0, "unit": "L/min", "data": {"sd": 0.3, "how": "by jug and clock"}}
    with session.history:
        session.save(
            Draft(kind="measured", station="res-1", measured_at=AT - timedelta(days=500), **pump),
            reading(6.0),
        )
        session.numbers.read_all()
        relief = relief_for(session, "ben", date(2026, 11, 26), date(2026, 11, 28))
        write_bundle(session, relief, tmp_path / "farm.zip")
    open_bundle(tmp_path / "farm.zip", tmp_path / "theirs")
    theirs = Session.open(tmp_path / "theirs", person_id="ben", clock=lambda: AT)
    theirs.numbers.read_all()
    assert theirs.farm.reservoir("res-1").pump_l_min == 12.0
