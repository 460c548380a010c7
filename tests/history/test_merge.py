"""Two histories become one: a union, the same from every side, seen before it is done."""

import itertools
import shutil
import tempfile
import time
import zipfile
from datetime import timedelta
from pathlib import Path

import msgspec
import pytest
from history_tools import NOON, ids_in, opened, reading
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rounds.errors import BadInput, NotFound
from rounds.history import merge
from rounds.history.check import check
from rounds.history.ids import uuid7
from rounds.history.journal import sealed
from rounds.history.library import Library

DEVICES = ("bench", "stick", "phone")
ACTIONS = st.lists(
    st.tuples(
        st.sampled_from(DEVICES),
        st.sampled_from(("save", "replace", "void", "bring")),
        st.integers(0, 200),
        st.sampled_from(DEVICES),
    ),
    max_size=14,
)
MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None


def take_over(into, other):
    return merge.apply(into, merge.preview(into, other.folder if hasattr(other, "folder") else other))


def play(root, actions):
    """Let three devices save, correct and bring each other their records; give their folders."""
    open_ones = {name: opened(root / name, device=name) for name in DEVICES}
    for name in DEVICES:
        open_ones[name].save(reading(item=name))
    for name, action, number, other in actions:
        history = open_ones[name]
        there = history.records(replaced=True)
        chosen = there[number % len(there)]
        if action == "save":
            history.save(reading(number, minutes=number * 700))
        elif action == "replace":
            history.replace(chosen.id, reading(number, minutes=number * 700))
        elif action == "void":
            history.void(chosen.id, person=name)
        elif other != name:
            open_ones[other].flush()
            take_over(history, open_ones[other])
    for history in open_ones.values():
        history.close()
    return [root / name for name in DEVICES]


def union(root, order):
    """Bring folders together in an order, on a device that wrote nothing."""
    target = root / "-".join(each.name for each in order)
    with opened(target, device="house") as history:
        for each in order:
            take_over(history, each)
        return seen(history)


def seen(history):
    standing = [each.id for each in history.records()]
    every = {each.id: each for each in history.records(replaced=True)}
    newest = {key: each.id for key, each in history.latest_by_item().items()}
    chains = {id: [each.id for each in history.chain(id)] for id in every}
    return standing, every, newest, chains


SOME = settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
MANY = settings(SOME, max_examples=300)


@SOME
@given(ACTIONS)
def test_a_merge_gives_the_same_in_every_order_and_loses_nothing(actions):
    the_same_in_every_order(actions)


@pytest.mark.long
@MANY
@given(ACTIONS)
def test_however_often_it_is_tried_a_merge_gives_the_same_in_every_order(actions):
    the_same_in_every_order(actions)


def the_same_in_every_order(actions):
    with tempfile.TemporaryDirectory(dir=MEMORY) as place:
        root = Path(place)
        folders = play(root, actions)
        results = [union(root, order) for order in itertools.permutations(folders)]
        assert all(each == results[0] for each in results)
        assert set(results[0][1]) == set().union(*map(ids_in, folders))
        twice = union(root, [folders[0], folders[1], folders[0], folders[2], folders[1]])
        assert twice == results[0]
        pairwise = root / "pairwise"
        with opened(pairwise / "left", device="left") as left:
            take_over(left, folders[0])
            take_over(left, folders[1])
        with opened(pairwise / "right", device="right") as right:
            take_over(right, folders[2])
            take_over(right, pairwise / "left")
            assert seen(right) == results[0]


@SOME
@given(ACTIONS)
def test_of_several_replacements_the_highest_rank_that_nothing_replaces_stands(actions):
    the_highest_rank_stands(actions)


@pytest.mark.long
@MANY
@given(ACTIONS)
def test_however_often_it_is_tried_the_highest_rank_stands(actions):
    the_highest_rank_stands(actions)


def the_highest_rank_stands(actions):
    with tempfile.TemporaryDirectory(dir=MEMORY) as place:
        standing, every, _, _ = union(Path(place), play(Path(place), actions))
    assert sorted(standing) == sorted(standing_by_definition(every))


def standing_by_definition(every):
    """The rule of the design, worked out from scratch on a plain dictionary."""
    family = {id: {id} for id in every}
    for id, record in every.items():
        if record.replaces:
            joined = family[id] | family[record.replaces]
            for member in joined:
                family[member] = joined
    replaced = {record.replaces for record in every.values()}
    for members in {frozenset(each) for each in family.values()}:
        leaves = [every[id] for id in members if id not in replaced]
        winner = max(leaves, key=lambda each: (each.lamport, each.device, each.id))
        if not winner.void:
            yield winner.id


def test_a_preview_counts_and_writes_nothing(tmp_path):
    with opened(tmp_path / "a") as one, opened(tmp_path / "b", device="stick") as two:
        (first,) = one.save(reading())
        take_over(two, one)
        two.replace(first.id, reading(6.5))
        one.replace(first.id, reading(6.6))
        two.save(reading(minutes=3))
        two.flush()
        before = {each: each.read_bytes() for each in (tmp_path / "a").rglob("*.json*")}
        shown = merge.preview(one, tmp_path / "b")
        assert (len(shown.new), shown.known, len(shown.replaced), len(shown.refused)) == (2, 1, 1, 0)
        assert shown.conflicts == (first.id,)
        assert any("2 records are new, 1 are known" in each for each in shown.sentences)
        assert {each: each.read_bytes() for each in (tmp_path / "a").rglob("*.json*")} == before
        assert merge.apply(one, shown) == 2
        assert [each.value for each in one.records(item="ph", until=NOON + timedelta(minutes=1))] == [6.5]
        assert len(one.chain(first.id)) == 3


def test_of_what_is_here_to_the_byte_no_list_of_all_is_made(tmp_path, monkeypatch):
    with opened(tmp_path / "a") as history:
        history.save(*(reading(minutes=n) for n in range(3)))
    shutil.copytree(tmp_path / "a", tmp_path / "b")
    with opened(tmp_path / "a") as history:
        monkeypatch.setattr(Library, "all_ids", None)
        found = merge.preview(history, tmp_path / "b")
        assert (found.known, list(found.new)) == (3, [])


def test_a_line_damaged_in_both_of_our_copies_comes_back_from_another(tmp_path):
    with opened(tmp_path / "a", device="phone") as history:
        history.save(*(reading(6.0 + n / 10.0, minutes=n) for n in range(3)))
    shutil.copytree(tmp_path / "a", tmp_path / "b")
    files = [each for each in (tmp_path / "a" / "phone").rglob("*") if each.is_file()]
    damaged = [each for each in files if b'"value":6.1,' in each.read_bytes()]
    for file in damaged:
        file.write_bytes(file.read_bytes().replace(b'"value":6.1,', b'"val##@@@@@@'))
    assert damaged
    with opened(tmp_path / "a", device="stick") as history:
        found = merge.preview(history, tmp_path / "b")
        assert (found.known, [each.value for each in found.new]) == (2, [6.1])


def test_a_merge_is_the_same_after_a_start(tmp_path):
    with opened(tmp_path / "b", device="stick") as other:
        other.save(*(reading(minutes=each * 20_000) for each in range(5)))
    with opened(tmp_path / "a") as history:
        history.save(reading())
        take_over(history, tmp_path / "b")
        before = seen(history)
    with opened(tmp_path / "a") as history:
        assert seen(history) == before
        assert history.save(reading())[0].lamport > max(each.lamport for each in before[1].values())
    assert check(tmp_path / "a").sound


def test_a_farm_a_device_folder_and_a_journal_can_be_merged(tmp_path):
    with opened(tmp_path / "farm" / "history", device="stick") as other:
        saved = other.save(reading(), reading(minutes=1))
    places = ("farm", "farm/history", "farm/history/stick", "farm/history/stick/2026/2026-05.jsonl")
    for number, place in enumerate(places):
        with opened(tmp_path / f"a{number}") as history:
            assert len(merge.preview(history, tmp_path / place).new) == len(saved), place


def test_gaps_of_another_device_are_named(tmp_path):
    with opened(tmp_path / "b", device="stick") as other:
        other.save(*(reading(minutes=each) for each in range(9)))
    journal = tmp_path / "b" / "stick" / "2026" / "2026-05.jsonl"
    lines = journal.read_bytes().splitlines(keepends=True)
    shutil.rmtree(tmp_path / "b")
    journal.parent.mkdir(parents=True)
    journal.write_bytes(b"".join(lines[:2] + lines[5:7] + lines[8:]))
    with opened(tmp_path / "a") as history:
        take_over(history, tmp_path / "b")
    report = check(tmp_path / "a")
    assert [each.sentence for each in report.gaps] == [
        "Records 3-5 of stick have not arrived.",
        "Record 8 of stick has not arrived.",
    ]


def foreign(**changes):
    doc = {
        "id": uuid7(NOON), "format": 1, "device": "stick", "seq": 1, "lamport": 1, "kind": "reading",
        "station": "north", "measured_at": "2026-05-31T12:00:00Z", "entered_at": "2026-05-31T12:00:00Z", "value": 6.4,
    }  # fmt: skip
    return msgspec.json.encode({**doc, **changes})


def journal_of(root, *bodies, device="stick"):
    path = root / "history" / device / "2026" / "2026-05.jsonl"
    path.parent.mkdir(parents=True)
    path.write_bytes(b"".join(map(sealed, bodies)))
    return path


@pytest.mark.parametrize(
    "changes",
    [
        {"device": "bench"},
        {"id": "../../etc/passwd"},
        {"device": "phone"},
        {"seq": 2**52},
        {"lamport": 2**53},
        {"lamport": 0},
        {"kind": "Reading; drop"},
        {"measured_at": "2026-05-31T12:00:00"},
        {"measured_at": "1312-05-31T12:00:00Z"},
        {"measured_at": "soon"},
        {"value": {"a": 1}},
        {"note": "n" * 100_000},
        {"data": {"a": "b" * 70_000}},
        {"format": 2},
        {"format": "1"},
        {"replaces": 7},
        {"marks": "text"},
    ],
    ids=lambda changes: "-".join(changes),
)
def test_a_record_that_is_none_is_refused_and_the_others_come(tmp_path, changes):
    good = foreign()
    journal_of(tmp_path / "b", good, foreign(**changes))
    with opened(tmp_path / "a") as history:
        shown = merge.preview(history, tmp_path / "b")
        assert (len(shown.new), len(shown.refused)) == (1, 1)
        assert shown.refused[0].sentence
        assert merge.apply(history, shown) == 1
        assert [each.id for each in history.records()] == [msgspec.json.decode(good)["id"]]


def test_another_content_under_a_known_id_is_refused(tmp_path):
    first = foreign()
    journal_of(tmp_path / "b", first)
    journal_of(tmp_path / "c", first.replace(b"6.4", b"4.4"))
    with opened(tmp_path / "a") as history:
        take_over(history, tmp_path / "b")
        shown = merge.preview(history, tmp_path / "c")
        assert (len(shown.new), shown.known, len(shown.refused)) == (0, 0, 1)
        assert "differs" in shown.refused[0].sentence


def test_an_own_id_in_the_folder_of_another_device_is_refused(tmp_path):
    with opened(tmp_path / "a") as history:
        (own,) = history.save(reading())
        journal_of(tmp_path / "b", foreign(id=own.id))
        shown = merge.preview(history, tmp_path / "b")
        assert (len(shown.new), len(shown.refused)) == (0, 1)


def test_a_record_in_the_name_of_this_laptop_that_it_does_not_know_is_refused(tmp_path):
    journal_of(tmp_path / "b", foreign(device="bench"), device="bench")
    with opened(tmp_path / "a") as history:
        shown = merge.preview(history, tmp_path / "b")
        assert (len(shown.new), len(shown.refused)) == (0, 1)
        assert "written on this laptop" in shown.refused[0].sentence


def test_foreign_text_is_harmless_when_it_is_read(tmp_path):
    journal_of(tmp_path / "b", foreign(note="\x1b]0;x\x07\u202e", station="a\x9b", data={"k": ["\x1b["]}))
    with opened(tmp_path / "a") as history:
        take_over(history, tmp_path / "b")
    with opened(tmp_path / "a") as history:
        (record,) = history.records()
    for text in (record.note, record.station, record.data["k"][0]):
        assert "\ufffd" in text and "\x1b" not in text and "\x9b" not in text


def test_nothing_to_merge_is_said(tmp_path):
    (tmp_path / "empty").mkdir()
    with opened(tmp_path / "a") as history:
        for place in ("empty", "missing"):
            with pytest.raises(NotFound):
                merge.preview(history, tmp_path / place)


def zipped(path, files, **more):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
        for name, data in more.items():
            archive.writestr(name, data)
    return path


def test_a_zip_of_a_history_is_merged_without_being_unpacked(tmp_path):
    with opened(tmp_path / "b" / "history", device="stick") as other:
        saved = other.save(reading(), reading(minutes=1))
    root = tmp_path / "b"
    files = {
        str(each.relative_to(root)): each.read_bytes() for each in root.rglob("2026-05.json*") if "bak" not in each.name
    }
    path = zipped(tmp_path / "bundle.zip", files)
    before = set(tmp_path.rglob("*"))
    with opened(tmp_path / "a", read_only=True) as history:
        assert {each.id for each in merge.preview(history, path).new} == {each.id for each in saved}
    assert set(tmp_path.rglob("*")) == before


@pytest.mark.parametrize(
    "name",
    ["../evil.jsonl", "/history/stick/2026/2026-05.jsonl", "history/stick/2026/2026-05.exe", "history\\stick\\2026",
     "history/../stick/2026/2026-05.jsonl", "history/stick/2026/2026-13.jsonl", "history/STICK/2026/2026-05.jsonl"],
)  # fmt: skip
def test_a_zip_with_a_name_that_is_not_expected_is_refused(tmp_path, name):
    path = zipped(tmp_path / "bundle.zip", {"history/stick/2026/2026-05.jsonl": sealed(foreign()), name: b""})
    with opened(tmp_path / "a") as history, pytest.raises(BadInput, match="not expected"):
        merge.preview(history, path)


def test_a_zip_that_grows_when_unpacked_is_refused(tmp_path):
    path = zipped(tmp_path / "bundle.zip", {"history/stick/2026/2026-05.jsonl": bytes(30_000_000)})
    with opened(tmp_path / "a") as history, pytest.raises(BadInput, match="too large"):
        merge.preview(history, path)


def test_a_zip_that_is_cut_or_scribbled_over_is_refused(tmp_path):
    path = zipped(tmp_path / "bundle.zip", {"history/stick/2026/2026-05.jsonl": sealed(foreign()) * 3})
    data = path.read_bytes()
    with opened(tmp_path / "a") as history:
        for broken in (data[: len(data) // 2], b"", b"PK" + bytes(200), data[:40] + b"\xff" * 9 + data[49:]):
            path.write_bytes(broken)
            with pytest.raises(BadInput):
                merge.preview(history, path)


def test_a_merge_of_many_records_stays_well_below_a_minute(tmp_path):
    # Not a measurement (those are among the benchmarks): it fails where merging becomes quadratic.
    with opened(tmp_path / "b", device="stick") as other:
        other.add_bulk(reading(minutes=each * 40) for each in range(10_000))
    began = time.process_time()
    with opened(tmp_path / "a") as history:
        assert take_over(history, tmp_path / "b") == 10_000
    assert time.process_time() - began < 60
