"""Checking, backing up, and folders that cannot be written."""

import os
import shutil
import stat
import subprocess
import sys
import tempfile
from datetime import timedelta
from pathlib import Path

import pytest
from history_tools import NOON, FailingDisk, ids_in, opened, reading

from rounds.errors import NotFound, NotSaved, Refused
from rounds.history import History, merge
from rounds.history.backup import backup
from rounds.history.check import check
from rounds.history.last_backup import last_backup


@pytest.fixture
def farm(tmp_path):
    farm = tmp_path / "farm"
    farm.mkdir()
    (farm / "farm.toml").write_text("name = 'x'\n")
    with opened(farm / "history") as history:
        history.save(*(reading(minutes=each * 9_000) for each in range(9)))
        history.save(reading(kind="note", note="x"))
    return farm


def test_a_check_counts_records_readings_and_months(farm):
    report = check(farm)
    assert (report.records, report.readings, report.months) == (10, 9, 3)
    assert report.sound and report.verified
    assert report.sentences[0] == "10 records from 3 months."
    assert check(farm / "history") == report


def test_a_check_changes_nothing(farm):
    before = {each: (each.stat().st_mtime_ns, each.stat().st_size) for each in farm.rglob("*")}
    check(farm)
    assert {each: (each.stat().st_mtime_ns, each.stat().st_size) for each in farm.rglob("*")} == before


def test_a_number_given_twice_is_told(farm, tmp_path):
    with opened(tmp_path / "twin" / "history") as twin:
        twin.save(reading(minutes=77))
    journal = tmp_path / "twin" / "history" / "bench" / "2026" / "2026-05.jsonl"
    shutil.copy(journal, farm / "history" / "bench" / "2026" / "2026-05 (conflict).jsonl")
    assert any("Number 1 of bench was given 2 times" in each for each in check(farm).sentences)


def test_a_backup_is_equal_verified_and_its_age_is_told(farm, tmp_path):
    assert check(farm).last_backup is None
    assert any("no backup yet" in each for each in check(farm).sentences)
    made = backup(farm, tmp_path / "stick", now=NOON)
    assert made.records == 10
    assert (made.folder / "farm.toml").read_bytes() == (farm / "farm.toml").read_bytes()
    assert ids_in(made.folder / "history") == ids_in(farm / "history")
    assert check(made.folder).sound
    assert last_backup(farm).at == NOON
    report = check(farm, now=NOON + timedelta(days=3))
    assert report.backup_age_days(NOON + timedelta(days=3)) == pytest.approx(3)
    assert any("3 days ago" in each for each in report.sentences)
    for path in made.folder.rglob("*"):
        assert stat.S_IMODE(path.stat().st_mode) == (0o700 if path.is_dir() else 0o600)


def test_a_backup_brings_everything_back_by_a_merge(farm, tmp_path):
    made = backup(farm, tmp_path / "stick", now=NOON)
    with History.open(tmp_path / "new" / "history", state=tmp_path / "elsewhere") as history:
        assert merge.apply(history, merge.preview(history, made.folder)) == 10
        assert ids_in(history.folder) == ids_in(farm / "history")


def test_a_backup_into_the_farm_itself_is_refused(farm):
    with pytest.raises(Refused):
        backup(farm, farm / "backups")


@pytest.mark.parametrize("lies_there", ["a file", "a link that leads nowhere"])
def test_a_history_that_is_no_folder_is_not_backed_up_as_if_it_were_good(farm, tmp_path, lies_there):
    shutil.rmtree(farm / "history")
    if lies_there == "a file":
        (farm / "history").write_text("not a record")
    else:
        (farm / "history").symlink_to(tmp_path / "gone")
    with pytest.raises(NotFound, match=r"history (is a file, not a folder|leads nowhere)"):
        backup(farm, tmp_path / "stick")
    assert not (tmp_path / "stick").exists()


def test_a_backup_of_which_any_call_fails_leaves_nothing_half_done_and_the_farm_as_it_was(farm, tmp_path):
    probe = FailingDisk()
    backup(farm, tmp_path / "probe", disk=probe)
    before = ids_in(farm / "history")
    for number in range(probe.calls):
        for marker in (farm / "history").glob("*/last-backup"):
            marker.unlink()
        try:
            made = backup(farm, tmp_path / f"{number}", disk=FailingDisk(number))
        except NotSaved:
            left = list((tmp_path / f"{number}").rglob("*"))
            assert last_backup(farm) is None
            assert not [each for each in left if each.name.endswith(".unfinished")]
        else:
            assert ids_in(made.folder / "history") == before
    assert ids_in(farm / "history") == before


def test_a_backup_that_cannot_be_written_leaves_nothing_half_done(farm, tmp_path):
    (tmp_path / "stick").write_text("not a folder")
    with pytest.raises(NotSaved):
        backup(farm, tmp_path / "stick")
    assert last_backup(farm) is None


def test_checking_what_is_not_there_is_said(tmp_path):
    with pytest.raises(NotFound):
        check(tmp_path / "nowhere")


AS_NOBODY = """
import os, sys
from pathlib import Path
from history_tools import opened, reading
from rounds.errors import NotSaved
if os.geteuid() == 0:
    os.setgid(65534); os.setuid(65534)
history = opened(Path(sys.argv[1]))
assert history.read_only, "not seen as read-only"
assert any("only be read" in each for each in history.warnings), history.warnings
print(len(history.records()))
try:
    history.save(reading())
except NotSaved as error:
    print(error.sentence)
history.close()
"""


@pytest.mark.skipif(not hasattr(os, "setuid"), reason="needs POSIX permissions")
def test_a_read_only_folder_opens_for_reading_with_a_message_and_nothing_changes(farm):
    place = Path(tempfile.mkdtemp())
    place.chmod(0o755)
    try:
        folder = place / "history"
        shutil.copytree(farm / "history", folder)
        for path in (folder, *folder.rglob("*")):
            path.chmod(0o555 if path.is_dir() else 0o444)
        before = {each: each.stat().st_mtime_ns for each in folder.rglob("*")}
        path = os.pathsep.join([str(Path(__file__).parent / "support"), *sys.path])
        done = subprocess.run(
            [sys.executable, "-c", AS_NOBODY, str(folder)], capture_output=True, text=True, env={"PYTHONPATH": path}
        )
        assert done.returncode == 0, done.stderr
        assert done.stdout.splitlines() == ["10", "The history is open for reading only, so nothing was saved."]
        assert {each: each.stat().st_mtime_ns for each in folder.rglob("*")} == before
    finally:
        for path in place.rglob("*"):
            path.chmod(0o755)
        shutil.rmtree(place)


def test_a_journal_that_is_a_link_is_never_written_through(tmp_path):
    target = tmp_path / "elsewhere.txt"
    target.write_text("")
    year = tmp_path / "history" / "bench" / "2026"
    year.mkdir(parents=True)
    (year / "2026-05.jsonl").symlink_to(target)
    with opened(tmp_path / "history") as history, pytest.raises(NotSaved, match="link"):
        history.save(reading())
    assert target.read_text() == ""


@pytest.fixture
def small_disk(tmp_path):
    """A disk of eight megabytes, where the system lets us have one."""
    place = tmp_path / "small"
    place.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", str(place)], capture_output=True)
    if made.returncode:
        pytest.skip("no small disk can be mounted here")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_on_a_full_disk_old_records_stay_readable_and_the_reserve_helps(small_disk):
    history = opened(small_disk / "history")
    acknowledged = [each.id for each in history.save(reading())]
    history.flush()
    filler = small_disk / "filler"
    with filler.open("wb", buffering=0) as file, pytest.raises(OSError, match="space"):
        while file.write(bytes(4096)):
            pass
    from_reserve = 0
    with pytest.raises(NotSaved, match="disk is full"):
        for minutes in range(100_000):
            acknowledged += [each.id for each in history.save(reading(minutes=minutes % 9_000))]
            from_reserve += 1
    assert from_reserve > 1_000
    assert any("reserve is in use" in each for each in history.warnings)
    assert {each.id for each in history.records()} == set(acknowledged)
    history.close()
    assert ids_in(small_disk / "history") == set(acknowledged)
    filler.unlink()
    with opened(small_disk / "history") as again:
        acknowledged += [each.id for each in again.save(reading())]
    assert ids_in(small_disk / "history") == set(acknowledged)
    assert (small_disk / "history" / "bench" / "reserve").stat().st_size == 1 << 20
    print(f"{from_reserve} readings from the reserve")
