"""What a check and a backup count, name and leave out."""

from datetime import timedelta

import msgspec
import pytest
from hand_made import RECORD
from history_tools import NOON, FailingDisk, opened, reading

from rounds.errors import NotSaved
from rounds.history.backup import backup
from rounds.history.check import check
from rounds.history.gaps import Gap, gaps_between
from rounds.history.journal import opened as open_line
from rounds.history.journal import sealed
from rounds.history.last_backup import last_backup
from rounds.history.quarantine import quarantined
from rounds.history.repair import repair


@pytest.mark.parametrize(("numbers", "gaps"), [
    ((1, 2, 3), []), ((2, 3), [(1, 1)]), ((1, 4), [(2, 3)]), ((5,), [(1, 4)]), ((3, 1), [(2, 2)]),
    ((1, 3, 6), [(2, 2), (4, 5)]), ((0, 1), []), ((), []), ((2, 2), [(1, 1)]),
])  # fmt: skip
def test_gaps_are_the_numbers_missing_from_1_on(numbers, gaps):
    assert gaps_between("bench", numbers) == [Gap(device="bench", first=first, last=last) for first, last in gaps]


def test_a_gap_of_one_and_of_several_have_their_own_words():
    assert Gap(device="a", first=3, last=3).sentence == "Record 3 of a has not arrived."
    assert Gap(device="a", first=3, last=4).sentence == "Records 3-4 of a have not arrived."


@pytest.fixture
def farm(tmp_path):
    (tmp_path / "farm").mkdir()
    (tmp_path / "farm" / "farm.toml").write_text("name = 'x'\n")
    with opened(tmp_path / "farm" / "history") as history:
        history.save(reading(), reading(minutes=1, kind="check", value=True))
    return tmp_path / "farm"


def journal(farm):
    return farm / "history" / "bench" / "2026" / "2026-05.jsonl"


@pytest.mark.parametrize(("hours", "words"), [
    (0.0, "today"), (23.9, "today"), (24.0, "1 days ago"), (60.0, "2 days ago"), (61.0, "3 days ago"),
])  # fmt: skip
def test_how_long_ago_the_last_backup_was_is_said(farm, tmp_path, hours, words):
    made = backup(farm, tmp_path / "stick", now=NOON)
    report = check(farm, now=NOON + timedelta(hours=hours))
    told = f"The last good backup was made {words} (2026-05-31 12:00), into {made.folder}."
    assert report.sentences == ("2 records from 1 month.", told)
    assert report.backup_age_days(NOON + timedelta(hours=hours)) == pytest.approx(hours / 24.0)


def test_what_a_check_counts_and_names(farm):
    found = check(farm)
    assert (found.records, found.readings, found.months, found.gaps, found.damaged) == (2, 1, 1, (), ())
    assert (found.odd, found.quarantine, found.verified, found.last_backup, found.sound) == ((), (), True, None, True)
    assert found.backup_age_days(NOON) is None
    assert found.sentences == ("2 records from 1 month.", "There has been no backup yet.")


def odd_lines(first, count):
    for number in range(first, first + count):
        record = msgspec.structs.replace(RECORD, id=f"odd{number}", device="stick", seq=number)
        yield sealed(msgspec.json.encode(record).replace(b"6.4", b'"x"'))


@pytest.mark.parametrize(("count", "told", "last"), [
    (20, 20, "Record 20 of"), (21, 21, "Record 21 of"), (22, 21, "2 more are passed over"), (1, 1, "Record 1 of"),
])  # fmt: skip
def test_twenty_odd_records_are_named_and_the_others_counted(farm, count, told, last):
    other = farm / "history" / "stick" / "2026"
    other.mkdir(parents=True)
    (other / "2026-05.jsonl").write_bytes(b"".join(odd_lines(1, count)))
    found = check(farm)
    assert len(found.odd) == count and found.sound
    named = [each for each in found.sentences if "passed over" in each]
    assert len(named) == told and named[-1].startswith(last)


def test_what_differs_between_the_copies_is_named(farm):
    whole = journal(farm).read_bytes()
    first, second = whole.splitlines(keepends=True)
    journal(farm).write_bytes(first)
    found = check(farm)
    assert "1 records of 2026-05 of bench stand only in the monthly file." in found.damaged and not found.sound
    changed = sealed(open_line(second[:-1]).replace(b'"value":true', b'"value":false'))
    journal(farm).write_bytes(first + changed)
    assert check(farm).damaged == ("1 records of 2026-05 of bench differ between journal and monthly file.",)
    journal(farm).write_bytes(whole + whole[:9])
    assert check(farm).damaged == ("The journal 2026-05.jsonl of bench is not complete yet.",)
    journal(farm).write_bytes(first + b"scribble\n" + second)
    assert any("is damaged" in each or "damaged line" in each for each in check(farm).damaged)
    journal(farm).write_bytes(whole)
    assert check(farm).damaged == ()
    former = journal(farm).with_name("2026-05.json.bak")
    former.write_bytes(b"scribble")
    assert check(farm).damaged == ("The former generation 2026-05.json.bak of bench is damaged.",)


def test_lines_that_hold_no_record_and_newer_ones_are_counted(farm):
    newer = msgspec.json.encode(msgspec.structs.replace(RECORD, id="n", device="stick", format=2))
    other = farm / "history" / "stick" / "2026"
    other.mkdir(parents=True)
    (other / "2026-05.jsonl").write_bytes(sealed(b"[]") + sealed(b'{"id":7}') + sealed(newer))
    assert check(farm).odd == (
        "From a newer version of this program, and passed over: 1 of 2026-05 of stick.",
        "Sealed lines that hold no record, and are passed over: 2 of 2026-05 of stick.",
    )


def test_a_repair_says_what_it_wrote_anew(farm):
    assert repair(farm).sentences == ()
    journal(farm).write_bytes(journal(farm).read_bytes().splitlines(keepends=True)[0])
    done = repair(farm)
    assert done.months == 1
    assert done.sentences[-1] == "2026-05 of bench: 2 records were written anew; the old files are kept."
    assert check(farm).sound
    assert sorted(each.name.split("-")[0] for each in quarantined(farm / "history"))[0] == "bench"


def test_a_backup_tells_what_it_copied_and_leaves_out_what_can_be_rebuilt(farm, tmp_path):
    for name in (".hidden", "a.tmp", "history/bench/lock", "history/bench/reserve", "history/bench/latest.summary"):
        (farm / name).write_bytes(b"x")
    (farm / ".git").mkdir()
    (farm / ".git" / "config").write_bytes(b"x")
    made = backup(farm, tmp_path / "stick", now=NOON)
    names = {"farm.toml", "history/bench/2026/2026-05.json", "history/bench/2026/2026-05.jsonl"}
    there = {str(each.relative_to(made.folder)) for each in made.folder.rglob("*") if each.is_file()}
    assert there == names
    size = sum((farm / name).stat().st_size for name in names)
    sentence = f"3 files with 2 records were copied to {made.folder}, read back, and are equal."
    assert (made.files, made.bytes, made.records, made.sentences) == (3, size, 2, (sentence,))
    assert made.folder == tmp_path / "stick" / "farm-2026-05-31T120000"
    marked = last_backup(farm)
    assert (marked.at, marked.to, marked.files) == (NOON, str(made.folder), 3)
    again = backup(farm, tmp_path / "stick", now=NOON)
    third = backup(farm, tmp_path / "stick", now=NOON)
    assert (again.folder.name, third.folder.name) == ("farm-2026-05-31T120000-2", "farm-2026-05-31T120000-3")
    assert sorted(each.name for each in (tmp_path / "stick").iterdir()) == [
        made.folder.name, again.folder.name, third.folder.name,
    ]  # fmt: skip


def test_the_newest_backup_of_any_device_is_the_last_one(farm, tmp_path):
    backup(farm, tmp_path / "stick", now=NOON)
    for name, at in (("phone", "2026-06-02T12:00:00Z"), ("stick", "2026-06-01T12:00:00Z")):
        (farm / "history" / name).mkdir()
        (farm / "history" / name / "last-backup").write_text(f'{{"at":"{at}","to":"/{name}","files":1}}')
    (farm / "history" / "broken").mkdir()
    (farm / "history" / "broken" / "last-backup").write_text("{")
    assert last_backup(farm).to == "/phone"
    assert last_backup(tmp_path / "nowhere") is None


def test_a_folder_without_a_record_or_with_nothing_in_it_is_backed_up_too(tmp_path):
    (tmp_path / "empty").mkdir()
    made = backup(tmp_path / "empty", tmp_path / "stick", now=NOON)
    assert (made.files, made.bytes, made.records) == (0, 0, 0) and list(made.folder.iterdir()) == []
    assert list((tmp_path / "empty").iterdir()) == []


@pytest.mark.parametrize("fail_at", range(0, 30, 3))
def test_a_backup_where_a_call_fails_is_whole_or_not_there(farm, tmp_path, fail_at):
    (tmp_path / "stick").mkdir()
    disk = FailingDisk(fail_at)
    try:
        made = backup(farm, tmp_path / "stick", now=NOON, disk=disk)
    except NotSaved as error:
        assert "could not be made" in error.sentence
        assert list((tmp_path / "stick").glob("*.unfinished")) == []
        assert last_backup(farm) is None
    else:
        for name in ("farm.toml", "history/bench/2026/2026-05.jsonl"):
            assert (made.folder / name).read_bytes() == (farm / name).read_bytes()
        assert made.records == 2
