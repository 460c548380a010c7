"""How much a bundle may hold, just inside and just outside; what goes into one, and how its file is named."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pytest

from rounds.errors import BadInput, NotSaved, RoundsError
from rounds.farm.formats import migrate
from rounds.history.record import Draft
from rounds.relief.bundle import free_name, write_back, write_bundle
from rounds.relief.handed_over import looked_at
from rounds.relief.opening import folder_name, is_bundle, open_bundle, read_bundle
from rounds.relief.sheet import relief_for
from rounds.walk.session import Session

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
FIRST, LAST = date(2026, 11, 26), date(2026, 11, 28)
MIB = 1 << 20
Open = Callable[..., Session]


def written(session: Session, path: Path) -> Path:
    write_bundle(session, relief_for(session, "ben", FIRST, LAST), path)
    return path


@pytest.fixture
def bundle(farm_folder: Path, opened: Open, tmp_path: Path) -> Path:
    """The small farm, with next to nothing written down."""
    session = opened(farm_folder)
    with session.history:
        return written(session, tmp_path / "farm.zip")


def with_files(bundle: Path, more: dict[str, bytes], *, packed: int = zipfile.ZIP_STORED) -> Path:
    """The bundle anew with more files in it, and its list brought up to date."""
    with zipfile.ZipFile(bundle) as archive:
        files = {name: archive.read(name) for name in archive.namelist()} | more
    manifest = json.loads(files.pop("bundle.json"))
    manifest["files"] = {name: sha256(data).hexdigest() for name, data in files.items()}
    path = bundle.with_name("more.zip")
    with zipfile.ZipFile(path, "w", packed) as archive:
        for name, data in ({"bundle.json": json.dumps(manifest).encode()} | files).items():
            archive.writestr(name, data)
    return path


def why_not(path: Path) -> str:
    with pytest.raises(RoundsError) as caught:
        read_bundle(path)
    return caught.value.sentence


def checklist(kind: str) -> bytes:
    return f'format = 1\nkind = "{kind}"\ntitle = "T"\nrank = 5\n'.encode()


def test_six_hundred_files_are_taken_in_and_no_more(bundle: Path) -> None:
    there = len(read_bundle(bundle).files) + 1
    most = {f"checklists/c{n}.toml": checklist(f"c{n}") for n in range(600 - there)}
    assert len(read_bundle(with_files(bundle, most)).files) == 599
    assert "holds 601 files" in why_not(with_files(bundle, most | {"checklists/one.toml": checklist("one")}))


@pytest.mark.parametrize(("more", "refused"), [(0, "not a sound zip"), (1, "larger than any bundle")])
def test_a_file_of_128_mebibytes_is_looked_into_and_a_larger_one_is_not(
    tmp_path: Path, more: int, refused: str
) -> None:
    path = tmp_path / "large.zip"
    with path.open("wb") as file:
        file.truncate(128 * MIB + more)  # a hole: it takes no room
    assert refused in why_not(path)


def test_a_file_within_a_bundle_is_at_most_32_mebibytes_and_a_toml_file_one(bundle: Path) -> None:
    large = {"history/d-1/2026/2026-11.jsonl": bytes(32 * MIB + 1)}
    assert "too large" in why_not(with_files(bundle, large))
    text = checklist("own")
    whole = text + b"#" * (MIB - len(text))
    assert read_bundle(with_files(bundle, {"checklists/own.toml": whole})).files["checklists/own.toml"] == whole
    assert f"is {MIB + 1} bytes long" in why_not(with_files(bundle, {"checklists/own.toml": whole + b"#"}))


@pytest.mark.parametrize(("levels", "why"), [(12, "not as it should be"), (13, "nested too deep")])
def test_a_toml_file_is_read_twelve_levels_deep(bundle: Path, levels: int, why: str) -> None:
    deep = f"a = {'[' * levels}{']' * levels}".encode()
    assert why in why_not(with_files(bundle, {"checklists/own.toml": deep}))


@pytest.mark.parametrize(
    "text", ['a = ["\\u001b"]', 'a = { b = ["\\u001b"] }', '"\\u001b" = 1', 'a = { "\\u001b" = 1 }']
)
def test_no_text_of_a_bundle_holds_what_a_terminal_would_obey(bundle: Path, text: str) -> None:
    assert "a terminal would obey" in why_not(with_files(bundle, {"checklists/own.toml": text.encode()}))


@pytest.mark.parametrize("field", ["farm", "person", "made_by"])
def test_nor_does_what_it_says_of_itself(bundle: Path, field: str) -> None:
    with zipfile.ZipFile(bundle) as archive:
        manifest = json.loads(archive.read("bundle.json")) | {field: "x\u001b"}
    path = with_files(bundle, {"bundle.json": json.dumps(manifest).encode()})
    assert "a terminal would obey" in why_not(path)


@pytest.mark.parametrize(
    ("version", "why"), [(3, "newer version"), (True, "not as it should be"), ("2", "not as it should be")]
)
def test_a_bundle_of_a_newer_version_asks_for_a_newer_program(bundle: Path, version: object, why: str) -> None:
    with zipfile.ZipFile(bundle) as archive:
        manifest = json.loads(archive.read("bundle.json")) | {"version": version}
    assert why in why_not(with_files(bundle, {"bundle.json": json.dumps(manifest).encode()}))


def test_a_bundle_says_whose_it_is_and_for_whom_and_when(farm_folder: Path, opened: Open, tmp_path: Path) -> None:
    session = opened(farm_folder)
    path = written(session, tmp_path / "b.zip")
    found = read_bundle(path)
    said = found.manifest
    assert (said.farm, said.person, said.first, said.last, said.made) == ("Test farm", "ben", FIRST, LAST, AT)
    assert said.made_by == session.history.device
    assert (found.has_farm, found.records) == (True, 0)
    assert is_bundle(path)
    with zipfile.ZipFile(path) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert path.read_bytes() == written(session, tmp_path / "again.zip").read_bytes(), "the same farm, the same bytes"
    open_bundle(path, tmp_path / "theirs")
    assert opened(tmp_path / "theirs").person.id == "ben"  # type: ignore[union-attr]


def test_what_is_handed_back_is_for_nobody_and_only_what_this_laptop_wrote(
    farm_folder: Path, opened: Open, tmp_path: Path
) -> None:
    session = opened(farm_folder)
    with session.history:
        session.save(Draft(kind="note", note="x", measured_at=AT))
        written(session, tmp_path / "b.zip")
    open_bundle(tmp_path / "b.zip", tmp_path / "theirs")
    theirs = opened(tmp_path / "theirs")
    with theirs.history, pytest.raises(NotSaved, match="nothing to hand back"):
        write_back(theirs, tmp_path / "back.zip")
    theirs = opened(tmp_path / "theirs")
    with theirs.history:
        theirs.save(Draft(kind="note", note="y", measured_at=AT))
        said = write_back(theirs, tmp_path / "back.zip")
    assert (said.person, said.first, said.last) == ("", None, None)
    found = read_bundle(tmp_path / "back.zip")
    assert (found.has_farm, found.records) == (False, 1)


@pytest.mark.parametrize(
    ("days", "counted", "months"),
    [(100, "2026-11-01", ["2026-11"]), (60, "2026-11-01", ["2026-09", "2026-11"]),
     (100, "2026-08-01", ["2026-08", "2026-11"])],
)  # fmt: skip
def test_whole_months_go_back_two_months_or_to_the_last_count_of_the_shelf(
    farm_folder: Path, opened: Open, tmp_path: Path, days: int, counted: str, months: list[str]
) -> None:
    """Sixty days before the 25th of November is the 26th of September, a hundred the 17th of August."""
    shelf = (farm_folder / "shelf.toml").read_text("utf-8").replace("2026-11-01", counted)
    (farm_folder / "shelf.toml").write_text(shelf, "utf-8")
    session = opened(farm_folder)
    with session.history:
        session.save(Draft(kind="note", note="old", measured_at=AT - timedelta(days=days)))
        session.save(Draft(kind="note", note="new", measured_at=AT))
        found = read_bundle(written(session, tmp_path / "b.zip"))
    assert sorted(name[-13:-6] for name in found.files if name.endswith(".jsonl")) == months


def test_a_bundle_that_does_not_match_its_own_list_is_not_taken_back(
    bundle: Path, farm_folder: Path, opened: Open
) -> None:
    with zipfile.ZipFile(bundle) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(bundle, "w") as archive:
        for name, data in (files | {"farm.toml": files["farm.toml"] + b"#"}).items():
            archive.writestr(name, data)
    with pytest.raises(BadInput, match="checksum"):
        looked_at(opened(farm_folder), bundle)


def test_a_file_is_named_as_nothing_is_yet(tmp_path: Path) -> None:
    names = []
    for _ in range(3):
        names.append(free_name(tmp_path, "sheet", ".pdf"))
        names[-1].write_bytes(b"")
    assert [each.name for each in names] == ["sheet.pdf", "sheet-2.pdf", "sheet-3.pdf"]
    (tmp_path / "link.pdf").symlink_to(tmp_path / "nowhere")
    assert free_name(tmp_path, "link", ".pdf").name == "link-2.pdf"


@pytest.mark.parametrize(
    ("name", "folder"),
    [("Hof Süd", "hof-s-d"), ("--", "farm"), ("", "farm"), ("A" * 60, "a" * 40), ("a_B.c", "a-b-c"), ("-x-", "x")],
)
def test_a_folder_is_named_in_small_letters_digits_and_hyphens(name: str, folder: str) -> None:
    assert folder_name(name) == folder


def test_what_is_no_zip_is_no_bundle(tmp_path: Path) -> None:
    (tmp_path / "a.zip").write_bytes(b"PK")
    with zipfile.ZipFile(tmp_path / "b.zip", "w") as archive:
        archive.writestr("x", b"")
    assert not is_bundle(tmp_path / "a.zip")
    assert not is_bundle(tmp_path / "b.zip")
    assert not is_bundle(tmp_path / "nowhere.zip")
    with pytest.raises(BadInput, match="not expected: x"):
        read_bundle(tmp_path / "b.zip")


@pytest.mark.parametrize(("migrated", "version"), [(False, 1), (True, 2)])
def test_a_bundle_asks_for_a_newer_program_only_where_its_farm_files_do(
    farm_folder: Path, opened: Open, tmp_path: Path, migrated: bool, version: int
) -> None:
    if migrated:
        migrate(farm_folder)
    session = opened(farm_folder)
    with session.history:
        path = written(session, tmp_path / "farm.zip")
    with zipfile.ZipFile(path) as archive:
        assert json.loads(archive.read("bundle.json"))["version"] == version
    assert read_bundle(path).has_farm


@pytest.mark.parametrize("file", ["farm.toml", "shelf.toml", "checklists/own.toml"])
@pytest.mark.parametrize(("text", "why"), [
    ("x.a" + ".a" * 12_000 + " = 1", "more than 8 dots"), ("x = " + "9" * 10_000, "too long"),
    ("x = " + "[" * 900 + "]" * 900, "more brackets inside each other"), ('x = "\\ud800"', "not sound TOML"),
    ("x = '\x9b31m'", "characters that a terminal would obey"),
    ('x = "\\u202e"', "characters that a terminal would obey"),
])  # fmt: skip
def test_a_toml_file_of_a_bundle_that_would_take_minutes_is_refused_unread(
    bundle: Path, file: str, text: str, why: str
) -> None:
    assert why in why_not(with_files(bundle, {file: text.encode(errors="surrogatepass")}, packed=zipfile.ZIP_STORED))


def test_a_bundle_that_the_other_laptop_would_refuse_is_not_made(
    farm_folder: Path, opened: Open, tmp_path: Path
) -> None:
    farm = farm_folder / "farm.toml"
    farm.write_text(farm.read_text(encoding="utf-8").replace("Hen house", "Hen\\u202ehouse"), encoding="utf-8")
    session = opened(farm_folder)
    with session.history, pytest.raises(BadInput, match=r"farm\.toml in the bundle holds characters"):
        written(session, tmp_path / "farm.zip")
    assert not (tmp_path / "farm.zip").exists()
