"""What a history answers, numbers and remembers, and what it says when it is opened again."""

import json
import os
import stat
from datetime import UTC, datetime, timedelta

import msgspec
import pytest
from hand_made import PAPER, RECORD, flipped, month_of_another, record_line
from history_tools import NOON, ids_in, opened, reading
from hypothesis import given
from hypothesis import strategies as st

from rounds.errors import BadInput, NotFound, NotSaved, Refused
from rounds.history import History, merge, paper_log
from rounds.history.check import check
from rounds.history.device import Known, new_name, recall, remember
from rounds.history.disk import Disk
from rounds.history.journal import opened as open_line
from rounds.history.journal import sealed
from rounds.history.month import MonthStorage, read_table, write_table
from rounds.history.quarantine import quarantined
from rounds.history.query import Equals, OfKinds
from rounds.history.record import Record
from rounds.history.staging import Arrivals, staged_files, staged_pieces

DAY = 24 * 60


class ReadingDisk(Disk):
    """Remembers what was read."""

    def __init__(self):
        self.read_files = []

    def read(self, path, start=0):
        self.read_files.append(path.name)
        return super().read(path, start)


@pytest.fixture
def asked(tmp_path):
    with opened(tmp_path / "history") as history:
        yield history


def test_since_is_included_and_until_is_not(asked):
    saved = asked.save(*(reading(minutes=each) for each in range(4)))
    one, three = NOON + timedelta(minutes=1), NOON + timedelta(minutes=3)
    assert asked.records(since=one, until=three) == list(saved[1:3])
    assert asked.records(since=one) == list(saved[1:]) and asked.records(until=three) == list(saved[:3])


@pytest.mark.parametrize("minutes", [0, 400 * DAY - 1, 400 * DAY, 400 * DAY + 1, 430 * DAY])
@pytest.mark.parametrize("days", [400, 30, 500])
def test_the_latest_is_asked_for_within_so_many_days(asked, minutes, days):
    (saved,) = asked.save(reading(minutes=-minutes))
    expected = saved if minutes <= days * DAY else None
    assert asked.latest("north", "ph", within_days=days) == expected
    assert asked.latest_by_item(within_days=days) == ({("north", "ph"): saved} if expected else {})


def test_the_latest_before_a_moment_of_a_kind(asked):
    first, second, third = asked.save(
        reading(6.1, minutes=-3), reading(6.2, minutes=-2), reading(True, minutes=-1, kind="check")
    )
    assert asked.latest("north", "ph") == third
    assert asked.latest("north", "ph", kind="reading") == second
    assert asked.latest("north", "ph", before=third.measured_at) == second
    assert asked.latest("north", "ph", before=second.measured_at) == first
    assert asked.latest("north", "ph", before=first.measured_at) is None
    assert asked.latest("north", "ph", kind="dose") is None
    assert asked.latest("south", "ph") is None and asked.latest("north", "ec") is None
    old = asked.latest("north", "ph", before=first.measured_at + timedelta(days=400), within_days=400)
    assert old == third


def test_an_item_that_was_never_answered_opens_no_month(tmp_path):
    with opened(tmp_path / "history") as history:
        history.add_bulk([reading(measured_at=NOON - timedelta(days=30 * back)) for back in range(20)])
    disk = ReadingDisk()
    with opened(tmp_path / "history", disk=disk) as history:
        disk.read_files.clear()
        soon = NOON + timedelta(seconds=1)
        assert history.latest("north", "dip", before=soon) is None
        assert history.latest("north", "dip") is None
        assert disk.read_files == []
        assert history.latest("north", "dip", before=NOON - timedelta(days=60)) is None
        assert disk.read_files, "what was newest then is not kept"


def test_marks_and_items_are_told_apart(asked):
    dose, storm = asked.save(
        reading(5.0, kind="dose", item="acid", unit="mL", data={"action": "acid"}),
        reading(False, kind="check", item="storm", station="hens", minutes=1),
    )
    assert asked.latest_by_item() == {("north", "acid"): dose, ("hens", "storm"): storm}
    assert asked.latest_by_item("hens") == {("hens", "storm"): storm}
    assert asked.latest_marks() == {
        ("north", "kind:dose"): dose, ("north", "action:acid"): dose, ("hens", "off:storm"): storm,
    }  # fmt: skip


def test_a_void_keeps_where_it_was_and_says_who_and_why(asked):
    (saved,) = asked.save(reading(station="north", item="ph", round_id="r1", meter="pen", unit="mS/cm", typed="6,4"))
    gone = asked.void(saved.id, person="Kim", note="wrong tank")
    kept = {"kind": "reading", "station": "north", "item": "ph", "measured_at": NOON, "round_id": "r1"}
    added = {"person": "Kim", "note": "wrong tank", "void": True, "replaces": saved.id, "value": None}
    counted = {"device": "bench", "seq": 2, "lamport": 2, "entered_at": NOON, "format": 1}
    assert gone == Record(id=gone.id, **kept, **added, **counted)
    assert asked.records() == [] and asked.records(replaced=True) == [saved, gone]
    assert asked.chain(gone.id) == [saved, gone] == asked.chain(saved.id)


def test_a_saved_record_holds_every_field_and_the_next_numbers(asked):
    asked.save(reading())
    draft = reading(6.4, typed="6,4", person="Kim", meter="pen", unit="mS/cm", note="n", round_id="r", marks=("m",),
                    data={"a": 1})  # fmt: skip
    (saved,) = asked.save(draft)
    given = {name: getattr(draft, name) for name in draft.__struct_fields__}
    assert saved == Record(id=saved.id, format=1, device="bench", seq=2, lamport=2, entered_at=NOON, **given)
    assert asked.get(saved.id) == saved and asked.get("none") is None


@pytest.mark.parametrize(("seconds", "mark"), [
    (0, None), (-3_600, None), (-3_601, "clock stepped back"), (400 * 86_400, None),
    (400 * 86_400 + 1, "clock far ahead"), (-400 * 86_400, "clock stepped back"),
])  # fmt: skip
def test_a_clock_is_odd_an_hour_back_or_four_hundred_days_ahead(tmp_path, seconds, mark):
    at = [NOON]
    with opened(tmp_path / "history", now=lambda: at[0]) as history:
        history.save(reading())
        at[0] += timedelta(seconds=seconds)
        assert (history.clock_concern() is None) is (mark is None)
        (saved,) = history.save(reading(minutes=1))
        assert saved.marks == ((mark,) if mark else ())


def test_a_name_is_kept_by_the_place_with_its_last_number(tmp_path, monkeypatch):
    farm, state = tmp_path / "farm" / "history", tmp_path / "state"
    remember(farm, "d-1", 5, state)
    assert recall(farm, state) == Known(device="d-1", path=os.path.realpath(farm), seq=5, fixed=False)
    other = recall(tmp_path / "other", state)
    assert other.seq == 0 and other.device != "d-1" and other.path == os.path.realpath(tmp_path / "other")
    (kept,) = (state / "rounds" / "devices").iterdir()
    assert kept.suffix == ".json" and stat.S_IMODE(kept.parent.stat().st_mode) == 0o700
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "usual"))
    remember(farm, "d-1", 5)
    assert not (tmp_path / "usual").exists(), "not of a folder among temporary files"
    assert recall(farm).device == recall(farm).device != "d-1", "among temporary files by its place"
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path / "elsewhere"))
    remember(farm, "d-2", 6)
    assert recall(farm).device == "d-2"
    assert (tmp_path / "usual" / "rounds" / "devices" / kept.name).exists()
    assert recall(tmp_path / "third").device != recall(tmp_path / "third").device, "a new one until it is remembered"
    assert len(new_name()) == 14 and new_name().startswith("d-")


def test_a_history_under_a_name_that_was_given_remembers_nothing(tmp_path):
    state = tmp_path / "state"
    with History.open(tmp_path / "history", device="given", state=state, now=lambda: NOON) as history:
        history.save(reading())
    assert not state.exists() and len(ids_in(tmp_path / "history")) == 1


def test_what_is_no_folder_is_not_opened(tmp_path):
    (tmp_path / "history").write_text("a file")
    for read_only in (True, False):
        with pytest.raises(NotFound, match="is a file"):
            History.open(tmp_path / "history", device="bench", read_only=read_only)


def test_a_paper_log_of_which_a_part_is_known_brings_the_rest(tmp_path):
    first = "Day,pH,Hens,Who,Remark\n03.05.2026,6.1,,Kim,\n05.05.2026,6.3,,Kim,\n"
    more = first.replace("05.05.2026,6.3", "05.05.2026,6.4") + "04.05.2026,6.2,calm,Kim,\n"
    with opened(tmp_path / "history") as history:
        assert paper_log.apply(history, paper_log.preview(history, first, PAPER)) == 2
        history.save(reading(6.2, measured_at=datetime(2026, 5, 4, tzinfo=UTC), typed="6.2"))
        found = paper_log.preview(history, more, PAPER)
        assert [(each.item, each.typed) for each in found.drafts] == [("ph", "6.4"), ("ph", "6.2"), ("mood", "calm")]
        assert found.known == 1
        assert found.sentences[1] == "They are from 2026-05-04 to 2026-05-05."


def test_a_paper_log_is_taken_in_up_to_its_limits(tmp_path, monkeypatch):
    text = "Day,pH,Hens,Who,Remark\n03.05.2026,6.1,,Kim,\n05.05.2026,6.3,,Kim,\n"
    with opened(tmp_path / "history") as history:
        monkeypatch.setattr(paper_log, "MOST_BYTES", len(text))
        monkeypatch.setattr(paper_log, "MOST_ROWS", 2)
        assert len(paper_log.preview(history, text, PAPER).drafts) == 2
        with pytest.raises(BadInput, match="characters long"):
            paper_log.preview(history, text + "\n", PAPER)
        monkeypatch.setattr(paper_log, "MOST_BYTES", 10_000)
        with pytest.raises(BadInput, match="3 rows"):
            paper_log.preview(history, text + ",,,,\n", PAPER)


def test_odd_strange_and_newer_lines_are_counted_over_starts_and_refreshes(tmp_path):
    strange = sealed(b"[]")
    odd = sealed(open_line(record_line(1)[:-1]).replace(b'"value":6.4', b'"value":"x"'))
    newer = sealed(open_line(record_line(2)[:-1]).replace(b'"format":1', b'"format":2'))
    path = month_of_another(tmp_path, odd, strange, newer, record_line(3))
    two = [
        "2 records of device stick are odd and passed over, not readable since May 2026: `rounds check FARM` names "
        "what is odd.",
        "1 record of device stick is from a newer version of this program and passed over: bring this laptop up to "
        "date.",
    ]
    for _ in range(2):
        with opened(tmp_path / "history") as history:
            assert list(history.warnings) == two
            assert [each.seq for each in history.records() if each.device == "stick"] == [3]
            history.flush()
            history.save(reading())
    with opened(tmp_path / "history") as history:
        other = sealed(open_line(odd[:-1]).replace(b"000000000001", b"000000000009"))
        path.write_bytes(path.read_bytes() + other + sealed(b"7") + record_line(4))
        assert history.refresh() and not history.refresh()
        assert history.warnings[0].startswith("4 records of device stick are odd")


def test_what_a_newer_version_wrote_under_this_name_is_only_read(tmp_path):
    newer = open_line(record_line(2)[:-1]).replace(b'"format":1', b'"format":2').replace(b"stick", b"bench")
    month_of_another(tmp_path, sealed(newer), name="bench")
    with opened(tmp_path / "history") as history:
        assert history.read_only
        assert history.warnings == (
            "A newer version of this program has written here under this laptop's name: it can be read, but not added "
            "to. Bring this laptop up to date.",
        )
        with pytest.raises(NotSaved, match="newer version"):
            history.save(reading())


def test_an_import_that_was_broken_off_is_completed_and_said(tmp_path):
    with opened(tmp_path / "history") as history:
        history.save(reading())
    record = msgspec.structs.replace(RECORD, id="019e7de7-be00-7000-8000-000000000001", device="stick", seq=1)
    arrival = Arrivals(key=("stick", "2026-05"), lines=[sealed(msgspec.json.encode(record))])
    own = tmp_path / "history" / "bench"
    (own / "one.staged").write_bytes(b"".join(staged_pieces([arrival])))
    (own / "two.staged").write_bytes(b"".join(staged_pieces([arrival]))[:-1])
    with opened(tmp_path / "history") as history:
        assert history.recovered == ("An import that was broken off has been completed.",)
        assert record in history.records()
    assert staged_files(own) == []
    with opened(tmp_path / "history") as history:
        assert history.recovered == () and len(history.records()) == 2
    (own / "three.staged").write_bytes(b"".join(staged_pieces([arrival])))
    with opened(tmp_path / "history") as history:
        assert len(history.records()) == 2, "what is known is not taken in twice"
    assert check(tmp_path / "history").sound


def test_a_journal_that_grew_shrank_or_got_a_copy_is_read_as_it_is_now(tmp_path):
    path = month_of_another(tmp_path, record_line(1), record_line(2))
    with opened(tmp_path / "history") as history:
        numbers = lambda: [each.seq for each in history.records()]  # noqa: E731
        assert numbers() == [1, 2]
        path.write_bytes(path.read_bytes() + record_line(3))
        assert history.refresh() and numbers() == [1, 2, 3]
        path.with_name("2026-05 (copy).jsonl").write_bytes(record_line(2) + record_line(4))
        assert history.refresh() and numbers() == [1, 2, 3, 4]
        path.with_name("2026-05 (copy).jsonl").unlink()
        path.write_bytes(record_line(1))
        assert history.refresh() and numbers() == [1]
        month_of_another(tmp_path, record_line(9, measured_at=NOON - timedelta(days=40)), month="2026-04")
        assert history.refresh() and numbers() == [9, 1]


def test_a_forged_counter_leaves_room_for_the_counting_that_follows(tmp_path):
    month_of_another(tmp_path, record_line(1), sealed(
        open_line(record_line(2)[:-1]).replace(b'"lamport":2', b'"lamport":%d' % 2**41)
    ))  # fmt: skip
    with opened(tmp_path / "history") as history:
        first, second = history.save(reading(), reading(minutes=1))
        assert (first.seq, second.seq, first.lamport, second.lamport) == (1, 2, 1, 2), "nobody counted up to it"


def test_the_newest_of_fifteen_months_is_kept_ready(tmp_path):
    """A little more than 400 days: of sixteen months with records the oldest is not looked at."""
    with opened(tmp_path / "history") as history:
        history.save(*(reading(item=f"i{n}", minutes=-n * 31 * 1440) for n in range(16)))
        assert len({(each.measured_at.year, each.measured_at.month) for each in history.records()}) == 16
    (tmp_path / "history" / "bench" / "latest.summary").unlink()
    with opened(tmp_path / "history", read_only=True) as history:
        ready = {item for _, item in history.latest_by_item(within_days=10_000)}
        assert ready == {f"i{n}" for n in range(15)}
        assert history.latest("north", "i15", within_days=10_000) is not None


def test_monthly_files_are_rewritten_a_while_after_the_last_wake_and_not_after_the_end():
    import threading
    import time

    from rounds.history.rewriter import Rewriter

    called, moments = threading.Event(), []

    def work():
        moments.append(time.monotonic())
        called.set()

    rewriter = Rewriter(work, quiet_s=0.15)
    rewriter.wake()
    rewriter.wake()
    woken = time.monotonic()
    assert called.wait(30)
    assert moments[0] >= woken + 0.14
    called.clear()
    rewriter.wake()
    assert called.wait(30)
    rewriter.stop()
    rewriter.wake()
    rewriter.stop()
    assert len(moments) == 2


def test_a_record_is_found_by_its_id_whatever_month_it_lies_in(tmp_path):
    with opened(tmp_path / "history") as history:
        saved = history.save(*(reading(minutes=-n * 30 * 1440) for n in range(6)))
        changed = history.replace(saved[5].id, reading(7.0, minutes=-5 * 30 * 1440))
    with opened(tmp_path / "history", read_only=True) as history:
        assert [history.get(each.id) for each in saved] == list(saved)
        assert history.chain(changed.id) == [saved[5], changed]
        ids = history.library.all_ids()
        assert ids[saved[0].id] == ("bench", "2026-05") and len(ids) == 7


def test_what_is_said_of_damaged_lines_and_files(tmp_path):
    first, second = record_line(1), record_line(2)
    turned = flipped(second, 45)
    path = month_of_another(tmp_path, first, turned, b"scribble\n", record_line(3))
    where = f"2026-05.jsonl of stick, byte {len(first)}"
    with opened(tmp_path / "history") as history:
        assert history.recovered[0] == f"A damaged line ({where}) could not be read."
        assert [each.seq for each in history.records()] == [1, 3]
    path.write_bytes(first + turned + record_line(3))
    assert check(tmp_path / "history").damaged == (f"A damaged line ({where}) could be put right: 1 records rescued.",)
    path.write_bytes(first + turned[:-1] + second + record_line(3))
    assert check(tmp_path / "history").damaged == (f"A damaged line ({where}) could be put right: 1 records rescued.",)
    path.with_suffix(".json").write_bytes(b"scribble")
    path.write_bytes(first)
    table = "The monthly file 2026-05.json of stick is damaged; the journal was read in its place."
    assert check(tmp_path / "history").damaged == (table,)
    path.unlink()
    write_table(path.with_suffix(".json"), Disk(), [msgspec.json.decode(open_line(second[:-1]))], 0)
    (told,) = [each for each in check(tmp_path / "history").damaged if "lacked" in each]
    assert told == "The journal of 2026-05 lacked 1 records, which its monthly file still had."


def test_an_unfinished_end_is_put_aside_or_closed_and_said(tmp_path):
    with opened(tmp_path / "history") as history:
        history.save(reading(), reading(minutes=1))
    path = tmp_path / "history" / "bench" / "2026" / "2026-05.jsonl"
    whole = path.read_bytes()
    path.write_bytes(whole[:-1])
    with opened(tmp_path / "history") as history:
        assert history.recovered == (
            "The last record of 2026-05.jsonl was whole, but its line was not closed; it is now.",
        )
    assert path.read_bytes() == whole
    path.write_bytes(whole + whole[:30])
    with opened(tmp_path / "history") as history:
        assert history.recovered == ("The last line of 2026-05.jsonl was cut off after 30 bytes; it is in quarantine.",)
        assert history.save(reading(minutes=2))[0].seq == 3
    assert [each.read_bytes() for each in quarantined(tmp_path / "history")] == [whole[:30]]


def test_an_import_of_which_a_part_is_there_brings_the_rest_once(tmp_path):
    month_of_another(tmp_path / "b", record_line(1), record_line(2))
    with opened(tmp_path / "history") as history:
        assert merge.apply(history, merge.preview(history, tmp_path / "b")) == 2
        month_of_another(tmp_path / "b", *(record_line(n) for n in range(1, 5)))
        found = merge.preview(history, tmp_path / "b")
        assert ([each.seq for each in found.new], found.known) == ([3, 4], 2)
        assert merge.apply(history, found) == 2
        assert merge.apply(history, found) == 0, "the same preview again"
        assert [each.seq for each in history.records()] == [1, 2, 3, 4]
    lines = (tmp_path / "history" / "stick" / "2026" / "2026-05.jsonl").read_bytes()
    assert lines == b"".join(record_line(n) for n in range(1, 5)), "each once"


@pytest.mark.parametrize(("minutes", "there"), [(-400 * DAY, True), (-400 * DAY - 1, False)])
def test_what_is_asked_without_a_limit_reaches_back_400_days(asked, minutes, there):
    (saved,) = asked.save(reading(minutes=minutes))
    assert asked.latest("north", "ph") == (saved if there else None)
    assert asked.latest_by_item() == ({("north", "ph"): saved} if there else {})


def test_what_cannot_be_written_again_is_passed_over():
    from rounds.history.door import let_through

    lone = {"id": "x", "seq": 7, "device": "stick", "note": "\ud800"}
    record, told = let_through(lone)
    assert record is None
    assert told == "Record 7 of stick: it is nested too deep, or holds what cannot be kept; it is passed over."
    record, told = let_through({"id": "x", "seq": {}, "device": None})
    assert told.startswith("Record ? of ?: ")


def test_what_another_window_wrote_is_the_newest_after_a_look(tmp_path):
    with opened(tmp_path / "history") as one, opened(tmp_path / "history") as two:
        (first,) = one.save(reading(6.1))
        assert two.latest_by_item() == {}
        assert two.refresh() and two.latest_by_item() == {("north", "ph"): first}
        (second,) = one.save(reading(6.2, minutes=1))
        changed = one.replace(second.id, reading(6.3, minutes=1))
        assert two.refresh() and two.latest("north", "ph") == changed
        one.void(changed.id, person="Kim")
        assert two.refresh() and two.latest("north", "ph") == first
        (other,) = one.save(reading(5.0, kind="dose", item="acid", unit="mL", minutes=2))
        assert two.refresh() and two.latest_marks() == {("north", "kind:dose"): other}


@pytest.mark.parametrize(("saved", "left"), [(1, 0), (2, 1), (2, 2)])
def test_a_folder_that_lost_even_one_record_of_this_laptop_is_written_under_a_new_name(tmp_path, saved, left):
    folder, state = tmp_path / "history", tmp_path / "state"
    with History.open(folder, state=state, now=lambda: NOON) as history:
        history.save(*(reading(minutes=each) for each in range(saved)))
        first = history.device
    journal = folder / first / "2026" / "2026-05.jsonl"
    lines = journal.read_bytes().splitlines(keepends=True)
    for path in (folder / first).rglob("2026-05.json*"):
        path.unlink()
    (folder / first / "latest.summary").unlink()
    journal.write_bytes(b"".join(lines[:left]))
    with History.open(folder, state=state, now=lambda: NOON) as history:
        assert (history.device == first) is (saved == left)
        told = f"This folder ends at record {left} of this laptop, which has written {saved}: it was set back."
        assert any(each.startswith(told) for each in history.recovered) is (saved != left)
        (again,) = history.save(reading(minutes=9))
        assert again.seq == (left + 1 if saved == left else 1)


WORDS = st.text(alphabet='ab"\\\n\x7fé', max_size=3)


@given(
    docs=st.lists(st.fixed_dictionaries({}, optional={"kind": WORDS, "station": WORDS, "note": WORDS}), max_size=6),
    kinds=st.none() | st.frozensets(WORDS, max_size=2),
    station=st.none() | WORDS,
    escaped=st.booleans(),
)
def test_what_is_left_out_before_it_is_read_is_never_what_was_wanted(docs, kinds, station, escaped):
    wanted = Equals(station=station) if kinds is None else OfKinds(kinds, station=station)
    texts = [(str(number), json.dumps(doc, ensure_ascii=escaped).encode()) for number, doc in enumerate(docs)]
    kept = {key for key, _ in wanted.likely(texts)}
    assert {str(number) for number, doc in enumerate(docs) if wanted(doc)} <= kept


def test_a_part_of_a_month_is_never_written_as_the_whole(tmp_path):
    path = tmp_path / "2026-05.json"
    write_table(path, Disk(), [{"id": "1", "kind": "dose"}, {"id": "2", "kind": "note"}], 77)
    storage = MonthStorage(path, Disk(), likely=OfKinds({"dose"}).likely)
    part = storage.read()
    assert [doc["id"] for doc in part["records"].values()] == ["1"]
    with pytest.raises(Refused):
        storage.write(part)
    assert [doc["id"] for doc in read_table(path, Disk())[0]] == ["1", "2"]
