"""The farm's id, what devices state beside their records, and numbers that nobody can have counted up to."""

import json
import shutil

import pytest
from history_tools import NOON, FailingDisk, opened, reading

from rounds.errors import NotSaved
from rounds.history import merge
from rounds.history.check import check
from rounds.history.counters import LARGEST_JUMP
from rounds.history.farm_id import farm_ids
from rounds.history.journal import parse, sealed
from rounds.history.statements import STATEMENTS, read_statements
from rounds.history.store import History


def at_farm(folder, device="bench", **more):
    return History.open(folder / "history", device=device, now=lambda: NOON, farm_name="Hollow Lane", **more)


def ids_of(folder):
    return farm_ids(read_statements(folder / "history"))


def forged(folder, **changes):
    """A journal with one record of another device, some of its fields changed."""
    with opened(folder / "made", device="d-far") as history:
        history.save(reading(9.9))
    (journal,) = (folder / "made").rglob("*.jsonl")
    doc = json.loads(parse(journal.read_bytes()).bodies[0]) | changes
    journal.write_bytes(sealed(json.dumps(doc, separators=(",", ":")).encode()))
    for table in (folder / "made").rglob("*.json"):
        table.unlink()
    return folder / "made"


def test_a_farm_is_given_an_id_at_its_first_writing_and_keeps_it(tmp_path):
    with at_farm(tmp_path) as history:
        assert ids_of(tmp_path) == set(), "opening writes nothing"
        history.save(reading())
    (id,) = ids_of(tmp_path)
    with at_farm(tmp_path) as history:
        history.save(reading(minutes=-90_000))
    with at_farm(tmp_path, device="second") as history:
        history.save(reading(minutes=-190_000))
        assert history.farm_ids() == {id}
    assert ids_of(tmp_path) == {id}


def test_copies_of_an_old_record_give_themselves_the_same_id_and_two_farms_do_not(tmp_path):
    with opened(tmp_path / "one" / "history") as history:
        history.save(reading())
    assert ids_of(tmp_path / "one") == set(), "it was written before farms had ids"
    shutil.copytree(tmp_path / "one", tmp_path / "copy")
    for name in ("one", "copy", "new", "other"):
        with at_farm(tmp_path / name, device=f"d-{name}") as history:
            history.save(reading(minutes=5))
    assert ids_of(tmp_path / "one") == ids_of(tmp_path / "copy")
    assert len(ids_of(tmp_path / "one") | ids_of(tmp_path / "new") | ids_of(tmp_path / "other")) == 3


def test_a_folder_without_a_name_is_given_no_id(tmp_path):
    with opened(tmp_path / "history") as history:
        history.save(reading())
        assert history.farm_ids() == set()
    assert not list(tmp_path.rglob(STATEMENTS))


def test_saving_does_not_wait_for_the_id_and_does_not_fail_with_it(tmp_path):
    with at_farm(tmp_path) as history:
        history.save(reading())
        assert not (tmp_path / "history" / "bench" / STATEMENTS).exists()
        (tmp_path / "history" / "bench" / STATEMENTS).mkdir()
        history.flush()
        history.save(reading(minutes=1))
        assert len(history.records()) == 2
        assert any("could not be rewritten" in each for each in history.warnings)


def test_statements_are_kept_once_whole_and_after_a_line_that_was_cut_off(tmp_path):
    with at_farm(tmp_path) as history:
        history.state([b'{"a":1}', b'{"a":2}', b'{"a":1}'])
        own = tmp_path / "history" / "bench" / STATEMENTS
        own.write_bytes(own.read_bytes() + sealed(b'{"a":3}')[:-9])
        history.state([b'{"a":2}', b'{"a":4}'])
        assert history.statements() == [b'{"a":1}', b'{"a":2}', b'{"a":4}']
        history.state([b'{"a":5}', b'{"a":6}'], without={b'{"a":1}', b'{"a":4}', b'{"a":6}'})
        assert history.statements() == [b'{"a":2}', b'{"a":5}']


def test_statements_that_cannot_be_written_are_said_and_those_that_are_there_stay(tmp_path):
    with at_farm(tmp_path) as history:
        history.state([b'{"a":1}'])
    counting = FailingDisk()
    with at_farm(tmp_path, disk=counting) as history:
        before = counting.calls
        history.state([b'{"a":2}'])
        calls = range(before, counting.calls)
    for without in ((), (b'{"a":2}',)):
        for call in calls:
            with at_farm(tmp_path, disk=FailingDisk(fail_at=call)) as history:
                try:
                    history.state([b'{"a":1}', b'{"a":%d}' % (call + 9)], without=without)
                except NotSaved:
                    assert b'{"a":1}' in history.statements()


@pytest.mark.parametrize("field", ["lamport", "seq"])
def test_a_number_that_nobody_counted_up_to_does_not_come_in(tmp_path, field):
    with opened(tmp_path / "history") as history:
        history.save(reading())
        room = LARGEST_JUMP + 1 + (field == "lamport")  # one record is here and one comes in
        found = merge.preview(history, forged(tmp_path / "far", **{field: room}))
        assert (len(found.new), found.refused) == (1, ())
        for number in (room + 1, 2**40 - 1, 2**40, 2**41):
            found = merge.preview(history, forged(tmp_path / f"far-{number}", **{field: number}))
            assert found.new == ()
            assert "nobody can have counted up to" in found.refused[0].sentence


def test_after_a_counter_at_its_limit_was_brought_a_backup_still_holds_every_reading(tmp_path):
    """It was taken in once, and everything written after it was left out of every merge, the farm's own backup too."""
    with opened(tmp_path / "history") as history:
        history.save(reading())
        merge.apply(history, merge.preview(history, forged(tmp_path / "far", lamport=2**40 - 1)))
        history.save(reading(minutes=1), reading(minutes=2))
    shutil.copytree(tmp_path / "history", tmp_path / "backup")
    with opened(tmp_path / "new", device="new") as history:
        found = merge.preview(history, tmp_path / "backup")
        assert (found.refused, merge.apply(history, found)) == ((), 3)


def test_a_farm_that_was_led_to_the_limit_goes_on_and_its_record_comes_back_whole(tmp_path):
    """A folder as an older version left it: its own numbers stand beyond the limit."""
    for seq, number in enumerate((2**40 - 1, 2**40 + 1, 2**40 + 2), 1):
        id = f"0197e2a0-0000-7000-8000-{number:012x}"
        made = forged(tmp_path / str(number), lamport=number, seq=seq, id=id)
        journal = next(made.rglob("*.jsonl"))
        target = tmp_path / "farm" / "d-far" / journal.parent.name / journal.name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes((target.read_bytes() if target.exists() else b"") + journal.read_bytes())
    with opened(tmp_path / "farm", device="d-far") as history:
        (last,) = history.save(reading(minutes=3))
        assert last.lamport == 2**40 + 3
    shutil.copytree(tmp_path / "farm", tmp_path / "backup")
    with opened(tmp_path / "new", device="new") as history:
        found = merge.preview(history, tmp_path / "backup")
        assert (found.refused, merge.apply(history, found)) == ((), 4)
        (mine,) = history.save(reading(minutes=4))
        assert mine.lamport == 1, "nobody counted up to those"
    assert check(tmp_path / "new").sound


def test_a_farm_of_a_hundred_years_is_counted_on_from(tmp_path):
    with opened(tmp_path / "history") as history:
        merge.apply(history, merge.preview(history, forged(tmp_path / "far", lamport=1_100_000, seq=1_100_000)))
        assert history.save(reading())[0].lamport == 1_100_001
