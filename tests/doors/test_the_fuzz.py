"""Records and bundles with anything in them: no traceback, nothing silently wrong, nothing left behind.

Every thing in every true record is replaced in the long run; here a sample, and what chance adds.
"""

from __future__ import annotations

import random
import shutil
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import odd_records
import pytest
from big_cases import GOOD, journal
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rounds.cli import main
from rounds.errors import RoundsError
from rounds.history.check import check
from rounds.history.journal import sealed
from rounds.history.record import Draft
from rounds.history.store import History
from rounds.relief.opening import open_bundle
from rounds.walk.session import system_clock

LINE = "ph 6.9 ec 1.4 t 20 dip 30"
VERBS = [
    ["due"], ["card"], ["change", "--plot"], ["correct", "res-1", LINE], ["history", "--all"], ["history", "--json"],
    ["check"], ["relief", "--report"], ["mix", "top-up", "res-1"], ["enter", "ch-1", "flow 1.1"],
    ["enter", "res-1", LINE], ["correct", "res-1"],
]  # fmt: skip
ODD = (
    5, None, "", [], {}, 1e308, -1, True, odd_records.nested(900), "x" * 20_000, "2026-13-45T99:00:00",
)  # fmt: skip
AT_ONCE = 25
Place = tuple[int, tuple[Any, ...], int]


def every_place(docs: list[dict[str, Any]]) -> list[Place]:
    """Every thing in every true record, with every odd value that it is replaced by, in an order of chance."""
    found = [(n, path, odd) for n, path in odd_records.all_places(docs) for odd in range(len(ODD))]
    random.Random(14).shuffle(found)
    return found


def stops_nothing(laid_out: Path, place: Path, docs: list[dict[str, Any]], chosen: list[Place]) -> None:
    farm = Path(shutil.copytree(laid_out, place / "farm"))
    odd = [{**odd_records.mutant(docs[n], path, ODD[value]), "_true": docs[n]} for n, path, value in chosen]
    odd_records.write(farm, odd, system_clock())
    for verb, *rest in VERBS:
        assert main([verb, str(farm), *rest]) in (0, 1), (verb, chosen)
    shutil.rmtree(farm)


@pytest.fixture(scope="module")
def docs(laid_out: Path) -> list[dict[str, Any]]:
    return odd_records.true_docs(laid_out)


def test_a_sample_of_all_odd_records_stops_no_verb(laid_out: Path, tmp_path: Path, docs: list[dict[str, Any]]) -> None:
    stops_nothing(laid_out, tmp_path, docs, every_place(docs)[:AT_ONCE])


@pytest.mark.long
def test_no_odd_record_stops_any_verb(laid_out: Path, tmp_path: Path, docs: list[dict[str, Any]]) -> None:
    chosen = every_place(docs)
    for first in range(0, len(chosen), AT_ONCE):
        stops_nothing(laid_out, tmp_path, docs, chosen[first : first + AT_ONCE])


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)
FIELDS = (*Draft.__struct_fields__, "id", "seq", "lamport", "device", "format", "saved_with")


@st.composite
def lines(draw: st.DrawFn) -> bytes:
    """A line of a journal: a sound record with some fields replaced or added, or with some bytes changed."""
    import json

    doc = json.loads(GOOD)
    doc |= draw(st.dictionaries(st.sampled_from(FIELDS) | st.text(max_size=6), JSON, max_size=4))
    line = sealed(json.dumps(doc).encode("utf-8", "surrogatepass"))
    if draw(st.integers(0, 4)) == 0:
        place, byte = draw(st.integers(0, len(line) - 1)), draw(st.integers(0, 255))
        line = line[:place] + bytes([byte]) + line[place + 1 :]
    return line


def opens_and_ends_sound(folder: Path, data: list[bytes]) -> None:
    farm = folder / "farm"
    farm.mkdir()
    journal(farm, b"".join(data))
    with History.open(farm / "history", device="bench") as history:
        (saved,) = history.save(Draft(kind="note", note="ours", measured_at=system_clock()))
        history.records(replaced=True)
        assert history.warnings is not None
    check(farm)
    from rounds.history.repair import repair

    repair(farm)
    found = check(farm)
    assert found.sound, found.sentences
    with History.open(farm / "history", device="bench", read_only=True) as history:
        assert history.get(saved.id) == saved
    shutil.rmtree(farm)


fuzzed = settings(
    deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


@settings(fuzzed, max_examples=60)
@given(data=st.lists(lines(), min_size=1, max_size=5))
def test_whatever_a_journal_holds_the_record_opens_and_a_repair_ends_sound(tmp_path: Path, data: list[bytes]) -> None:
    shutil.rmtree(tmp_path / "farm", ignore_errors=True)
    opens_and_ends_sound(tmp_path, data)


@pytest.mark.long
@settings(fuzzed, max_examples=5_000)
@given(data=st.lists(lines(), min_size=1, max_size=8))
def test_whatever_ten_thousand_lines_hold_the_record_opens(tmp_path: Path, data: list[bytes]) -> None:
    shutil.rmtree(tmp_path / "farm", ignore_errors=True)
    opens_and_ends_sound(tmp_path, data)


@pytest.fixture(scope="module")
def bundle(laid_out: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What is in a sound bundle."""
    folder = tmp_path_factory.mktemp("bundled")
    farm = Path(shutil.copytree(laid_out, folder / "farm"))
    assert main(["relief", str(farm), "--bundle", str(folder / "b.zip")]) == 0
    with zipfile.ZipFile(folder / "b.zip") as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def spoilt(files: dict[str, bytes], draw: random.Random) -> Iterator[tuple[str, bytes]]:
    """A bundle of which one file is cut, changed, doubled, renamed or gone, with its checksum put right at times."""
    from hashlib import sha256

    name = draw.choice(sorted(files))
    data = bytearray(files[name])
    how = draw.choice(("cut", "bytes", "json", "gone", "renamed", "empty"))
    if how == "cut":
        del data[draw.randrange(len(data)) :]
    elif how == "bytes":
        for _ in range(draw.choice((1, 3, 50))):
            data[draw.randrange(len(data))] = draw.randrange(256)
    elif how == "json":
        place = draw.randrange(len(data))
        data[place:place] = draw.choice((b"null", b"[" * 900, b"9" * 5_000, b'"\\ud800"', b"\x00", b"a.b" * 4_000))
    elif how == "empty":
        data.clear()
    changed = {**files, name: bytes(data)}
    if how == "gone":
        del changed[name]
    if how == "renamed":
        changed[draw.choice(("../x", "history/x/2026/2026-11.jsonl", "a/b/c", "con"))] = changed.pop(name)
    if name != "bundle.json" and draw.random() < 0.7:
        made = msgspec.json.decode(changed["bundle.json"])
        made["files"] = {each: sha256(d).hexdigest() for each, d in changed.items() if each != "bundle.json"}
        changed["bundle.json"] = msgspec.json.encode(made)
    yield from changed.items()


def try_bundles(bundle: dict[str, bytes], place: Path, seeds: range) -> None:
    folder = place / "given"
    folder.mkdir()
    for seed in seeds:
        path, target = folder / "b.zip", folder / "opened"
        with zipfile.ZipFile(path, "w") as archive:
            for name, data in spoilt(bundle, random.Random(seed)):
                archive.writestr(name, data)
        try:
            open_bundle(path, target)
        except RoundsError as error:
            assert error.sentence
            assert not target.exists(), "refused, but something is left behind"
        else:
            assert check(target).records >= 0
            assert main(["due", str(target)]) in (0, 1)
            shutil.rmtree(target)
        assert [each.name for each in folder.iterdir()] == ["b.zip"]


def test_no_spoilt_bundle_leaves_anything_behind(bundle: dict[str, bytes], tmp_path: Path) -> None:
    try_bundles(bundle, tmp_path, range(120))


@pytest.mark.long
def test_none_of_5_000_spoilt_bundles_leaves_anything_behind(bundle: dict[str, bytes], tmp_path: Path) -> None:
    try_bundles(bundle, tmp_path, range(1_000, 6_000))
