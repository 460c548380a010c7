"""Each call of the operating system fails in turn: nothing acknowledged is lost, and the history works afterwards."""

import errno
import itertools
import shutil

import pytest
from history_tools import FailingDisk, ids_in, opened, reading

from rounds.errors import NotSaved, RoundsError
from rounds.history import merge
from rounds.history.append import NotConfirmed

FAULTS = [
    dict(zip(("error", "forever", "short"), each, strict=True))
    for each in itertools.product((errno.ENOSPC, errno.EIO), (False, True), (False,))
] + [
    {"error": errno.EIO, "forever": False, "short": True},
    {"error": errno.EIO, "forever": False, "times": 2},
    {"error": errno.EIO, "forever": False, "times": 3},
]


def work(folder, disk, *, flush=True):
    """Save over a month's change and rewrite in between; give what was acknowledged, refused and left open."""
    acknowledged, refused, unclear = [], [], []
    try:
        history = opened(folder, disk=disk)
    except OSError:
        return acknowledged, refused, unclear, None
    for number, minutes in enumerate((0, 1, 24 * 60, 2)):
        note = f"draft {number}"
        try:
            acknowledged += [each.id for each in history.save(reading(minutes=minutes, note=note))]
        except NotConfirmed as error:
            assert error.sentence
            unclear.append(note)
        except NotSaved as error:
            assert error.sentence
            refused.append(note)
        if flush and number == 1:
            history.flush()
    return acknowledged, refused, unclear, history


def calls_of(action):
    disk = FailingDisk()
    action(disk)
    return disk.calls


def notes_in(folder):
    with opened(folder, read_only=True) as history:
        return [each.note for each in history.records(replaced=True)]


def check_after(folder, acknowledged, refused):
    assert set(acknowledged) <= ids_in(folder)
    there = notes_in(folder)
    assert not set(refused) & set(there), "said not to be saved, but is there"
    with opened(folder) as history:
        assert set(acknowledged) <= {each.id for each in history.records(replaced=True)}
        (after,) = history.save(reading(minutes=99))
        numbers = sorted(each.seq for each in history.records(replaced=True))
        assert numbers == list(range(1, len(numbers) + 1))
    assert {*acknowledged, after.id} <= ids_in(folder)


@pytest.mark.parametrize("fault", FAULTS, ids=str)
def test_no_failing_call_of_a_save_loses_what_was_acknowledged(quick, fault):
    number = calls_of(lambda disk: work(quick / "whole", disk)[3].close())
    assert number > 60
    for k in range(number):
        folder = quick / f"{k}"
        disk = FailingDisk(k, **fault)
        acknowledged, refused, unclear, history = work(folder, disk)
        if history is not None:
            disk.heal()
            if not fault["forever"]:
                assert len(acknowledged) + len(refused) + len(unclear) == 4
                assert len(refused) + len(unclear) <= fault.get("times", 1)
            retried = [history.save(reading(minutes=5, note="retried"))[0].id]
            acknowledged += retried
            history.close()
        check_after(folder, acknowledged, refused)
        shutil.rmtree(folder, ignore_errors=True)


@pytest.mark.parametrize("fault", FAULTS, ids=str)
def test_no_failing_call_of_a_recovery_loses_anything(quick, fault):
    made, _, _, history = work(quick / "whole", FailingDisk(), flush=True)
    history.close()
    journal = quick / "whole" / "bench" / "2026" / "2026-05.jsonl"
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join(lines[:-1]) + lines[-1][:40])
    (quick / "whole" / "bench" / "latest.summary").unlink()

    def recover(folder, disk):
        shutil.copytree(quick / "whole", folder)
        opened(folder, disk=disk).close()

    number = calls_of(lambda disk: recover(quick / "clean", disk))
    assert number > 10
    assert set(made) <= ids_in(quick / "clean")
    for k in range(number):
        folder = quick / f"{k}"
        recover(folder, FailingDisk(k, **fault))
        check_after(folder, made, [])
        shutil.rmtree(folder)


@pytest.mark.parametrize("fault", FAULTS, ids=str)
def test_a_failing_call_of_a_merge_takes_in_all_or_nothing(quick, fault):
    with opened(quick / "other", device="stick") as other:
        brought = {each.id for each in other.save(*(reading(minutes=each * 30_000) for each in range(4)))}
    with opened(quick / "whole") as history:
        own = {each.id for each in history.save(reading())}

    def take_in(folder, k, **fault):
        shutil.copytree(quick / "whole", folder)
        disk = FailingDisk(None, **fault)
        with opened(folder, disk=disk) as history:
            seen = merge.preview(history, quick / "other")
            before = disk.calls
            disk._fail_at = before + k
            merge.apply(history, seen)
            return disk.calls - before

    number = take_in(quick / "clean", 10**6)
    assert number > 15
    assert ids_in(quick / "clean") == own | brought
    for k in range(number):
        folder = quick / f"{k}"
        try:
            take_in(folder, k, **fault)
            expected = [own | brought]
        except NotConfirmed:
            expected = [own, own | brought]
        except NotSaved as error:
            assert error.sentence
            expected = [own]
        opened(folder).close()
        assert ids_in(folder) in expected, (k, expected)
        with opened(folder) as history:
            merge.apply(history, merge.preview(history, quick / "other"))
        assert ids_in(folder) == own | brought
        shutil.rmtree(folder)


def test_what_was_not_confirmed_is_written_again_under_the_same_id(quick):
    disk = FailingDisk()
    with opened(quick / "history", disk=disk) as history:
        history.save(reading())
        start = disk.calls
        history.save(reading(minutes=1))
        fsync = disk.names.index("fsync", start) - start
        disk._fail_at, disk._forever = disk.calls + fsync, True
        with pytest.raises(NotConfirmed, match="not confirmed"):
            history.save(reading(minutes=2, note="unclear"))
        disk.heal()
        (again,) = history.save(reading(minutes=2, note="unclear"))
        assert [each.note for each in history.records()].count("unclear") == 1
    assert notes_in(quick / "history").count("unclear") == 1
    assert again.id in ids_in(quick / "history")


def test_a_monthly_file_that_cannot_be_rewritten_is_a_warning_and_no_failed_save(quick):
    disk = FailingDisk()
    with opened(quick / "history", disk=disk) as history:
        (saved,) = history.save(reading())
        disk._fail_at, disk._forever, disk._error = disk.calls, True, errno.EIO
        history.flush()
        assert any("could not be rewritten" in each for each in history.warnings)
        disk.heal()
        history.flush()
    assert (quick / "history" / "bench" / "2026" / "2026-05.json").exists()
    assert ids_in(quick / "history") == {saved.id}


def test_the_sentence_says_what_is_wrong_with_the_disk(quick):
    for error, expected in ((errno.ENOSPC, "disk is full"), (errno.EROFS, "only be read"), (errno.EIO, "Input/output")):
        disk = FailingDisk()
        with opened(quick / str(error), disk=disk) as history:
            disk._fail_at, disk._error = disk.calls, error
            with pytest.raises(RoundsError, match=expected):
                history.save(reading())
