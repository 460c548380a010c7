"""Cuts, flipped bits and hand edits: everything is still there, and each damage is told."""

import random
import shutil

import pytest
from history_tools import ids_in, opened, reading

from rounds.history.check import check
from rounds.history.disk import Disk
from rounds.history.files import month_files
from rounds.history.journal import opened as open_line
from rounds.history.journal import sealed
from rounds.history.query import Equals
from rounds.history.reading import read_month
from rounds.history.repair import repair

JOURNAL = "bench/2026/2026-05.jsonl"
TABLE = "bench/2026/2026-05.json"
FORMER = "bench/2026/2026-05.json.bak"


@pytest.fixture
def farm(quick):
    """Two months, written in two sittings, so that there is a former generation of each."""
    folder = quick / "history"
    for sitting in range(2):
        with opened(folder) as history:
            history.save(*(reading(minutes=sitting * 9 + each, note=f"ü{each}") for each in range(3)))
            history.save(reading(minutes=60 * 24 + sitting))
    (folder / "bench" / "latest.summary").unlink()
    return folder


def told(folder):
    """What a start says, and what a check says."""
    with opened(folder, read_only=True) as history:
        history.records(replaced=True)
        return [*history.recovered, *history.warnings], check(folder).damaged


def cuts(data, apart):
    """Lengths to cut a file to: some apart, and each beside the end of a line."""
    ends = [at for at, byte in enumerate(data) if byte == 10]
    beside = {end + by for end in ends for by in (-1, 0, 1)} | {0, 1, len(data) - 2, len(data) - 1}
    return sorted(each for each in {*range(0, len(data), apart), *beside} if 0 <= each < len(data))


@pytest.mark.parametrize("name", [JOURNAL, TABLE, FORMER])
def test_wherever_a_file_is_cut_every_record_is_there_and_the_damage_is_told(farm, name):
    every_cut_is_told(farm, name, 7)


@pytest.mark.long
@pytest.mark.parametrize("name", [JOURNAL, TABLE, FORMER])
def test_cut_at_each_single_byte_every_record_is_there_and_the_damage_is_told(farm, name):
    every_cut_is_told(farm, name, 1)


def every_cut_is_told(farm, name, apart):
    whole = ids_in(farm)
    data = (farm / name).read_bytes()
    for length in cuts(data, apart):
        (farm / name).write_bytes(data[:length])
        assert ids_in(farm) == whole, length
        assert check(farm).damaged, f"a cut at {length} was not told"
    (farm / name).write_bytes(data)
    assert check(farm).sound


def test_a_cut_journal_is_made_whole_by_the_next_start(farm):
    whole = ids_in(farm)
    data = (farm / JOURNAL).read_bytes()
    for length in (0, 1, len(data) // 2, len(data) - 1):
        (farm / JOURNAL).write_bytes(data[:length])
        with opened(farm) as history:
            assert {each.id for each in history.records(replaced=True)} == whole
            assert history.recovered
        assert check(farm).sound
        with opened(farm, read_only=True) as history:
            assert history.recovered == ()


def test_a_line_that_another_window_died_in_is_put_aside_before_this_one_writes_on(farm):
    with opened(farm) as history:
        history.save(reading(minutes=70))
        whole = (farm / JOURNAL).read_bytes()
        half = whole.splitlines()[-1][:60]
        (farm / JOURNAL).write_bytes(whole + half)
        (saved,) = history.save(reading(minutes=71))
    lines = (farm / JOURNAL).read_bytes().splitlines()
    assert all(open_line(line) is not None for line in lines), "what was saved does not hang on the half line"
    assert saved.id in ids_in(farm)
    assert check(farm).sound
    assert any(half in path.read_bytes() for path in farm.rglob("quarantine/**/*") if path.is_file())


@pytest.mark.parametrize("apart", [7, pytest.param(1, marks=pytest.mark.long)])
def test_a_journal_that_stands_alone_keeps_every_record_before_a_cut(farm, apart):
    for name in (TABLE, FORMER):
        (farm / name).unlink()
    data = (farm / JOURNAL).read_bytes()
    ends = [at + 1 for at, byte in enumerate(data) if byte == 10]
    elsewhere = ids_in(farm) - {each for each in ids_in(farm) if each.encode() in data}
    for length in cuts(data, apart):
        (farm / JOURNAL).write_bytes(data[:length])
        before = sum(end - 1 <= length for end in ends)
        assert len(ids_in(farm) - elsewhere) == before, length


def flips(farm, number, seed):
    """Flip one bit at a time in any file that holds records."""
    whole = ids_in(farm)
    numbers = random.Random(seed)
    paths = sorted(each for each in farm.rglob("*.json*"))
    silent, lost = [], []
    for _ in range(number):
        path = numbers.choice(paths)
        data = bytearray(path.read_bytes())
        place, bit = numbers.randrange(len(data)), numbers.randrange(8)
        data[place] ^= 1 << bit
        path.write_bytes(data)
        if ids_in(farm) != whole:
            lost.append((path.name, place, bit))
        if not check(farm).damaged:
            silent.append((path.name, place, bit))
        data[place] ^= 1 << bit
        path.write_bytes(data)
    return silent, lost


def test_no_flipped_bit_is_silent_or_loses_a_record(farm):
    assert flips(farm, 300, 3) == ([], [])


@pytest.mark.long
def test_of_ten_thousand_flipped_bits_none_is_silent_or_loses_a_record(farm):
    assert flips(farm, 10_000, 4) == ([], [])


def test_a_flipped_bit_in_a_journal_that_stands_alone_is_put_right(farm):
    for name in (TABLE, FORMER):
        (farm / name).unlink()
    flipped = farm / JOURNAL
    whole, content = ids_in(farm), flipped.read_bytes()
    numbers = random.Random(5)
    for _ in range(60):
        data = bytearray(content)
        data[numbers.randrange(len(data))] ^= 1 << numbers.randrange(8)
        flipped.write_bytes(data)
        assert ids_in(farm) == whole
        assert told(farm)[1]


def test_a_flipped_bit_in_the_summary_changes_nothing(farm):
    with opened(farm) as history:
        history.save(reading(minutes=3))
        newest = history.latest_by_item()
    summary = farm / "bench" / "latest.summary"
    content = summary.read_bytes()
    numbers = random.Random(6)
    for _ in range(150):
        data = bytearray(content)
        data[numbers.randrange(len(data))] ^= 1 << numbers.randrange(8)
        summary.write_bytes(data)
        with opened(farm, read_only=True) as history:
            assert history.latest_by_item() == newest
            assert len(history.records()) == len(ids_in(farm))


EDITS = {
    "a changed value": lambda data: data.replace(b'"value":6.4', b'"value":7.4', 1),
    "a byte order mark": lambda data: b"\xef\xbb\xbf" + data,
    "a comma": lambda data: data.replace(b"\n", b",\n", 1),
    "a list": lambda data: b"[]\n",
    "nothing": lambda data: b"",
    "zeros": lambda data: bytes(len(data)),
    "one line taken out": lambda data: b"\n".join(data.split(b"\n")[:1] + data.split(b"\n")[2:]),
    "carriage returns": lambda data: data.replace(b"\n", b"\r\n"),
    "pretty spaces": lambda data: data.replace(b'":', b'": '),
}


@pytest.mark.parametrize("name", [JOURNAL, TABLE])
@pytest.mark.parametrize("edit", EDITS)
def test_a_hand_edit_changes_no_record_and_is_told(farm, name, edit):
    with opened(farm, read_only=True) as history:
        before = history.records(replaced=True)
    path = farm / name
    path.write_bytes(EDITS[edit](path.read_bytes()))
    with opened(farm) as history:
        assert history.records(replaced=True) == before
        assert history.recovered or check(farm).damaged
    repair(farm)
    report = check(farm)
    assert report.sound, report.sentences
    with opened(farm, read_only=True) as history:
        assert history.records(replaced=True) == before


def test_the_former_generation_helps_where_both_copies_are_damaged(farm):
    whole = ids_in(farm)
    lines = (farm / JOURNAL).read_bytes().split(b"\n")
    lines[1] = b"scribbled over"
    (farm / JOURNAL).write_bytes(b"\n".join(lines))
    (farm / TABLE).write_bytes((farm / TABLE).read_bytes()[:300])
    assert ids_in(farm) == whole
    with opened(farm) as history:
        assert history.recovered
    (farm / FORMER).unlink()
    assert ids_in(farm) == whole, "what was rescued stands in the journal now"
    repair(farm)
    assert check(farm).sound and ids_in(farm) == whole


def test_a_search_over_years_finds_what_only_the_former_generation_has_and_tells(farm):
    with opened(farm) as history:
        history.save(*(reading(minutes=60 * 24 * 31 * month) for month in range(2, 8)))
        whole = history.records(item="ph")
    lines = (farm / JOURNAL).read_bytes().split(b"\n")
    lines[1] = b"scribbled over"
    with opened(farm, read_only=True) as history:
        (farm / JOURNAL).write_bytes(b"\n".join(lines))
        (farm / TABLE).write_bytes((farm / TABLE).read_bytes()[:300])
        assert history.warnings == ()
        assert history.records(item="ph") == whole
        assert any("2026-05.json" in each for each in history.warnings)


@pytest.mark.parametrize("lines", [0, 1, 2, 5])
def test_a_search_finds_what_only_the_monthly_file_has_where_the_journal_lost_its_end(farm, lines):
    """Cut behind a whole line, so that nothing in the journal itself looks damaged."""
    files = month_files(farm, "bench", "2026-05")
    whole = read_month(Disk(), files)
    journal = (farm / JOURNAL).read_bytes().splitlines(keepends=True)
    assert len(whole.docs) == len(journal) == 6 and not whole.damage
    (farm / JOURNAL).write_bytes(b"".join(journal[:lines]))
    for number, doc in enumerate(whole.docs):
        found = read_month(Disk(), files, Equals(id=doc["id"]))
        assert [each["id"] for each in found.docs] == [doc["id"]]
        assert [f"lacked {6 - lines} records" in each.sentence for each in found.damage] == [True] * (number >= lines)


def test_what_is_damaged_is_kept_in_quarantine_byte_for_byte(farm):
    for name in (TABLE, FORMER):
        (farm / name).unlink()
    lines = (farm / JOURNAL).read_bytes().split(b"\n")
    lines[2] = b"scribbled over"
    (farm / JOURNAL).write_bytes(b"\n".join(lines))
    with opened(farm) as history:
        assert any("quarantine" in each for each in history.recovered)
        assert len([each for each in history.records() if each.note]) == 5
    kept = [each.read_bytes() for each in (farm / "quarantine").iterdir()]
    assert b"scribbled over" in kept


def test_a_repair_keeps_every_old_byte(farm):
    damaged = (farm / JOURNAL).read_bytes().replace(b"6.4", b"9.9", 2)
    (farm / JOURNAL).write_bytes(damaged)
    whole = ids_in(farm)
    done = repair(farm)
    assert done.months == 1
    assert damaged in [each.read_bytes() for each in (farm / "quarantine").iterdir()]
    assert ids_in(farm) == whole
    assert check(farm).sound
    assert repair(farm).months == 0


def test_conflict_copies_of_a_sync_tool_are_read_as_records(farm):
    journal = farm / JOURNAL
    data = journal.read_bytes()
    lines = data.splitlines(keepends=True)
    for name in (TABLE, FORMER):
        (farm / name).unlink()
    whole = ids_in(farm)
    journal.write_bytes(b"".join(lines[:2]))
    (journal.parent / "2026-05.sync-conflict-20260601.jsonl").write_bytes(b"".join(lines[1:]))
    assert ids_in(farm) == whole


def test_a_file_that_is_half_synced_is_not_complete_yet_rather_than_empty(farm):
    other = farm / "stick" / "2026"
    other.mkdir(parents=True)
    bodies = [open_line(line) for line in (farm / JOURNAL).read_bytes().split(b"\n")[:-1]]
    renamed = [each.replace(b"bench", b"stick").replace(b'"id":"0', b'"id":"1') for each in bodies]
    whole = b"".join(sealed(each) for each in renamed)
    (other / "2026-05.jsonl").write_bytes(whole[:500])
    with opened(farm) as history:
        assert any("not complete yet" in each for each in check(farm).damaged)
        assert len(history.records()) == 8 + 1
        (other / "2026-05.jsonl").write_bytes(whole)
        assert history.refresh()
        assert len(history.records()) == 8 + 6
    assert (other / "2026-05.jsonl").read_bytes() == whole


def test_a_month_that_is_gone_is_told(farm):
    with opened(farm) as history:
        history.save(reading(minutes=5))
    shutil.rmtree(farm / "bench" / "2026")
    with opened(farm) as history:
        assert any("2026-05 of bench were here and are gone" in each for each in history.warnings)
