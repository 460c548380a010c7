"""What the history promises when nothing goes wrong."""

import math
import stat
from datetime import UTC, datetime, timedelta, timezone

import msgspec
import pytest
from history_tools import NOON, ids_in, opened, reading

from rounds.errors import BadInput, NotFound, NotSaved, OutOfRange, Refused
from rounds.history import Draft, History, seeded_ids
from rounds.history.device import recall, remember
from rounds.history.ids import ID_PATTERN, uuid7


def test_a_saved_reading_is_read_back_as_it_was_entered(tmp_path):
    berlin = timezone(timedelta(hours=2))
    draft = Draft(
        kind="reading", station="north", item="ph", measured_at=datetime(2026, 5, 31, 8, 30, tzinfo=berlin),
        person="Kim", meter="pen", typed="6,4", value=6.4, unit="pH", note="roots fine ü", round_id="r1",
        data={"band": [5.5, 6.5]}, marks=("hard to believe, kept",),
    )  # fmt: skip
    with opened(tmp_path / "history") as history:
        (saved,) = history.save(draft)
    with opened(tmp_path / "history") as history:
        (found,) = history.records()
    assert found == saved
    for name in Draft.__struct_fields__:
        assert getattr(found, name) == getattr(draft, name)
    assert found.measured_at.utcoffset() == timedelta(hours=2)
    assert (found.device, found.seq, found.lamport, found.format) == ("bench", 1, 1, 1)


def test_a_record_is_durable_in_the_journal_before_save_returns(tmp_path):
    history = opened(tmp_path / "history")
    (saved,) = history.save(reading())
    journal = tmp_path / "history" / "bench" / "2026" / "2026-05.jsonl"
    assert saved.id in journal.read_text()
    assert not journal.with_suffix(".json").exists()
    history.close()
    assert saved.id in journal.with_suffix(".json").read_text()


def test_a_replacement_counts_and_the_old_one_stays_in_the_chain(tmp_path):
    with opened(tmp_path / "history") as history:
        (old,) = history.save(reading(64))
        new = history.replace(old.id, reading(6.4))
        assert history.records() == [new]
        assert history.latest("north", "ph") == new
        assert history.records(replaced=True) == [old, new]
        assert history.chain(new.id) == history.chain(old.id) == [old, new]


def test_a_void_takes_a_record_back_and_the_one_before_is_the_latest_again(tmp_path):
    with opened(tmp_path / "history") as history:
        first, second = history.save(reading(6.1), reading(6.4, minutes=5))
        history.void(second.id, person="Kim", note="wrong tank")
        assert history.latest("north", "ph") == first
        assert history.latest_by_item()["north", "ph"] == first
        assert history.records() == [first]


def test_a_replacement_measured_in_another_month_replaces_too(tmp_path):
    with opened(tmp_path / "history") as history:
        (old,) = history.save(reading(6.1))
        new = history.replace(old.id, reading(6.1, minutes=60 * 24 * 3))
    with opened(tmp_path / "history") as history:
        assert history.records() == [new]
        assert history.records(until=NOON + timedelta(hours=1)) == []


def test_records_are_filtered_by_every_field_and_ordered_by_the_measured_time(tmp_path):
    with opened(tmp_path / "history") as history:
        late, early, other = history.save(
            reading(1, minutes=9, round_id="a"), reading(2, minutes=1, kind="check"), reading(3, station="south")
        )
        assert history.records() == [other, early, late]
        assert history.records(station="south") == [other]
        assert history.records(kind="check") == [early]
        assert history.records(round_id="a") == [late]
        assert history.records(since=NOON + timedelta(minutes=1), until=NOON + timedelta(minutes=9)) == [early]
        assert history.latest("north", "ph", kind="check") == early
        assert history.latest("north", "ph", before=late.measured_at) == early
        assert history.get(late.id) == late
        assert history.get(uuid7(NOON)) is None


def test_the_newest_of_each_item_is_known_after_a_start_without_opening_a_month(tmp_path):
    folder = tmp_path / "history"
    with opened(folder) as history:
        history.save(*(reading(value, minutes=value, item=item) for value in range(9) for item in ("ph", "ec")))
        before = history.latest_by_item()
    with opened(folder) as history:
        assert history.latest_by_item() == before
        assert {record.value for record in before.values()} == {8}
        assert not history.library._held


def test_the_summary_is_rebuilt_where_it_is_missing_or_damaged(tmp_path):
    folder = tmp_path / "history"
    with opened(folder) as history:
        history.save(*(reading(value, minutes=value * 50_000) for value in range(8)))
        before = history.latest_by_item()
    summary = folder / "bench" / "latest.summary"
    for data in (None, b"", summary.read_bytes()[:-9], summary.read_bytes().replace(b'"value":7', b'"value":8')):
        summary.unlink() if data is None else summary.write_bytes(data)
        with opened(folder) as history:
            assert history.latest_by_item() == before
            assert history.save(reading())[0].seq == history.library.counters.seqs["bench"]


def test_a_second_window_sees_what_the_first_one_wrote_and_numbers_go_on(tmp_path):
    with opened(tmp_path / "history") as one, opened(tmp_path / "history") as two:
        (first,) = one.save(reading())
        assert two.refresh()
        assert not two.refresh()
        (second,) = two.save(reading(minutes=1))
        (third,) = one.save(reading(minutes=2))
        assert [first.seq, second.seq, third.seq] == [1, 2, 3]
        assert one.records() == [first, second, third]


def test_files_and_folders_are_for_their_owner_alone(tmp_path):
    with opened(tmp_path / "history") as history:
        history.save(reading())
    made = list((tmp_path / "history").rglob("*"))
    assert {stat.S_IMODE(each.stat().st_mode) for each in made if each.is_file()} == {0o600}
    assert {stat.S_IMODE(each.stat().st_mode) for each in made if each.is_dir()} == {0o700}


def test_a_bulk_of_drafts_from_a_seed_is_written_the_same_way_twice(tmp_path):
    for name in ("a", "b"):
        with opened(tmp_path / name, ids=seeded_ids(7)) as history:
            drafts = (reading(value, minutes=value * 1000) for value in range(200))
            assert history.add_bulk(drafts, entered=lambda draft: draft.measured_at) == 200
    for path in (tmp_path / "a").rglob("*.json*"):
        assert path.read_bytes() == (tmp_path / "b" / path.relative_to(tmp_path / "a")).read_bytes()


def test_ids_follow_rfc_9562(tmp_path):
    # RFC 9562, appendix A.6: 2022-02-22 14:22:22 -05:00, rand_a CC3, rand_b 18C4DC0C0C07398F.
    tail = (0xCC3 << 62 | 0x18C4DC0C0C07398F).to_bytes(10, "big")
    assert uuid7(datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC), tail) == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    assert ID_PATTERN.match(uuid7(NOON))


@pytest.mark.parametrize(
    "value",
    [math.nan, math.inf, -math.inf, 10**4300, 2**53 + 1],
    ids=["nan", "infinity", "minus infinity", "4301 digits", "beyond 2**53"],
)
def test_a_number_that_cannot_be_kept_is_refused_with_its_field(tmp_path, value):
    with opened(tmp_path / "history") as history:
        with pytest.raises(OutOfRange, match="value"):
            history.save(reading(value))
        with pytest.raises(OutOfRange, match=r"data\.after"):
            history.save(reading(data={"after": [value]}))
        assert history.records() == []


@pytest.mark.parametrize(
    "draft",
    [
        Draft(kind="Reading", measured_at=NOON),
        Draft(kind="", measured_at=NOON),
        Draft(kind="reading", measured_at=NOON.replace(tzinfo=None)),
        Draft(kind="reading", measured_at=NOON.replace(year=1512)),
        Draft(kind="reading", measured_at=NOON, note="x" * 100_000),
        Draft(kind="reading", measured_at=NOON, station="s" * 101),
        Draft(kind="reading", measured_at=NOON, data={"a": object()}),
    ],
)
def test_a_draft_that_cannot_be_kept_is_refused_whole(tmp_path, draft):
    with opened(tmp_path / "history") as history:
        with pytest.raises(BadInput):
            history.save(reading(), draft)
        assert history.records() == []


@pytest.mark.parametrize("text", ["\x1b[31m", "a\0b", "\u202eabc", "\ud800", "\ue000", "\U000e0041"])
def test_text_that_a_terminal_would_obey_is_made_harmless_at_the_entrance(tmp_path, text):
    with opened(tmp_path / "history") as history:
        (saved,) = history.save(reading(note=text, person=text, data={"a": [text]}))
    assert text not in (tmp_path / "history" / "bench" / "2026" / "2026-05.jsonl").read_text()
    for shown in (saved.note, saved.person, saved.data["a"][0]):
        assert "\ufffd" in shown and not any(ord(each) < 32 for each in shown)


def test_markup_is_kept_as_it_was_typed(tmp_path):
    with opened(tmp_path / "history") as history:
        (saved,) = history.save(reading(note="[/bold] [@click=app.quit]x"))
        assert saved.note == "[/bold] [@click=app.quit]x"


def test_a_record_is_never_updated_removed_or_truncated(tmp_path):
    from rounds.history.disk import Disk
    from rounds.history.month import TABLE, MonthStorage, MonthTable

    with opened(tmp_path / "history") as history:
        history.save(reading())
    path = tmp_path / "history" / "bench" / "2026" / "2026-05.json"
    before = path.read_bytes()
    with MonthTable(path, Disk(), storage=MonthStorage) as database:
        table = database.table(TABLE)
        for change in (lambda: table.update({"value": 1}), lambda: table.remove(doc_ids=[1]), table.truncate,
                       lambda: table.upsert({"value": 1}, None), database.drop_tables):  # fmt: skip
            with pytest.raises(Refused):
                change()
        assert [doc["value"] for doc in table] == [6.4]
    assert path.read_bytes() == before


def test_records_of_several_months_are_numbered_in_the_order_in_which_they_are_written(tmp_path):
    a_month = 60 * 24 * 31
    with opened(tmp_path / "history") as history:
        saved = history.save(*(reading(number, minutes=number % 2 * a_month + number) for number in range(4)))
        assert [each.value for each in saved] == [0, 1, 2, 3]
        assert [each.seq for each in saved] == [1, 3, 2, 4]


def test_replacing_what_is_not_there_is_refused(tmp_path):
    with opened(tmp_path / "history") as history:
        with pytest.raises(NotFound):
            history.replace(uuid7(NOON), reading())
        with pytest.raises(NotFound):
            history.void("nonsense", person="Kim")


def test_a_clock_that_stepped_back_is_told_and_marked(tmp_path):
    moment = [NOON]
    with opened(tmp_path / "history", now=lambda: moment[0]) as history:
        assert history.clock_concern() is None
        history.save(reading())
        moment[0] = NOON - timedelta(days=2)
        assert "2026-05-29" in history.clock_concern()
        assert history.save(reading(minutes=1))[0].marks == ("clock stepped back",)
        moment[0] = NOON + timedelta(days=900)
        assert history.save(reading(minutes=2))[0].marks == ("clock far ahead",)
        assert [each.seq for each in history.records()] == [1, 2, 3]


def test_a_copied_farm_folder_gets_a_device_name_of_its_own(tmp_path):
    laptop, other = tmp_path / "laptop", tmp_path / "other"
    one = tmp_path / "farm" / "history"
    with History.open(one, state=laptop) as history:
        history.save(reading())
        first = history.device
    with History.open(one, state=laptop) as history:
        assert history.device == first
    with History.open(one, state=other) as history:
        assert history.device != first
    with History.open(tmp_path / "elsewhere" / "history", state=laptop) as history:
        assert history.device != first


def test_a_folder_that_was_set_back_is_written_under_a_new_name(tmp_path):
    import shutil

    folder, state = tmp_path / "history", tmp_path / "state"
    with History.open(folder, state=state) as history:
        history.save(reading())
        first = history.device
    shutil.copytree(folder, tmp_path / "old")
    with History.open(folder, state=state) as history:
        history.save(reading(minutes=1))
    shutil.rmtree(folder)
    shutil.copytree(tmp_path / "old", folder)
    with History.open(folder, state=state) as history:
        assert history.device != first
        assert any("set back" in each for each in history.recovered)
        (saved,) = history.save(reading(minutes=2))
        assert (saved.device, saved.seq) == (history.device, 1)
        second = history.device
    with History.open(folder, state=state) as history:
        assert history.device == second


def test_a_name_is_remembered_only_by_the_laptop(tmp_path):
    remember(tmp_path / "farm", "d-1", 5, tmp_path / "state")
    assert recall(tmp_path / "farm", tmp_path / "state").device == "d-1"
    assert recall(tmp_path / "farm", tmp_path / "nothing").device != "d-1"


def test_reading_only_writes_nothing_at_all(tmp_path):
    folder = tmp_path / "history"
    with opened(folder, read_only=True) as history, pytest.raises(NotSaved):
        history.save(reading())
    assert not folder.exists()
    with opened(folder) as history:
        history.save(reading())
    before = {path: path.stat().st_mtime_ns for path in folder.rglob("*")}
    with opened(folder, read_only=True) as history:
        assert len(history.records()) == 1
        assert history.read_only
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*")} == before


def test_monthly_files_are_rewritten_by_themselves_soon_after_each_last_save(tmp_path):
    import time

    table = tmp_path / "history" / "bench" / "2026" / "2026-05.json"
    with opened(tmp_path / "history") as history:
        for minutes in range(2):
            (saved,) = history.save(reading(minutes=minutes))
            deadline = time.monotonic() + 30
            while not (table.exists() and saved.id in table.read_text()) and time.monotonic() < deadline:
                time.sleep(0.02)
            assert saved.id in table.read_text()


def test_the_monthly_file_is_a_tinydb_that_finds_by_query(tmp_path):
    from tinydb import Query

    from rounds.history.disk import Disk
    from rounds.history.month import read_table

    with opened(tmp_path / "history") as history:
        history.save(reading(6.1), reading(7.9, minutes=1))
    path = tmp_path / "history" / "bench" / "2026" / "2026-05.json"
    docs, covers = read_table(path, Disk(), Query().value > 7)
    assert [doc["value"] for doc in docs] == [7.9]
    assert covers == path.with_suffix(".jsonl").stat().st_size


def test_every_journal_line_is_json_of_its_own(tmp_path):
    with opened(tmp_path / "history") as history:
        saved = history.save(reading(), reading(minutes=1))
    lines = (tmp_path / "history" / "bench" / "2026" / "2026-05.jsonl").read_bytes().splitlines()
    assert [msgspec.json.decode(line)["rec"]["id"] for line in lines] == [each.id for each in saved]
    assert ids_in(tmp_path / "history") == {each.id for each in saved}
