"""Columns of numbers are what the records say, whatever became of their files."""

import shutil
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pytest
from history_explorer import tree_of
from history_tools import FailingDisk, opened, reading
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from rounds.history import merge, seeded_ids
from rounds.history.backup import backup
from rounds.history.columns import NUMBER_KINDS, month_columns, number_of, read_columns, write_columns
from rounds.history.disk import Disk
from rounds.history.repair import repair

MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None
LATER = datetime(2027, 6, 1, tzinfo=UTC)
NUMBERS = st.integers(0, 10_000)


def later(folder, **more):
    """Opened a year on, so that every month written before is a closed one."""
    return opened(folder, now=lambda: LATER, **more)


def what(each):
    return each.measured_at, each.rank, float(each.value), each.unit, each.kind, each.station, each.item


def plainly(history, **more):
    """The same from whole records."""
    found = (each for each in history.records(**more) if each.kind in NUMBER_KINDS)
    return [what(each) for each in found if isinstance(each.value, int | float) and not isinstance(each.value, bool)]


def in_columns(history, **more):
    return [what(each) for each in history.numbers(**more)]


def agree(history):
    for more in ({}, {"station": "north"}, {"item": "ph"}, {"station": "south", "item": "ec"}):
        assert in_columns(history, **more) == plainly(history, **more)


def written(folder):
    with opened(folder) as history:
        for month in range(10):
            at = {"minutes": month * 60 * 24 * 30}
            history.save(
                reading(6.0 + month, **at), reading(5, item="ec", station="south", unit="mS/cm", **at),
                reading(12, kind="check", item="eggs", **at), reading(True, kind="check", item="fed", **at),
                reading(4.0, kind="dose", item="acid", unit="mL", **at),
            )  # fmt: skip
        history.replace(history.records(item="ph")[1].id, reading(6.6, minutes=7))
        history.void(history.records(item="ph")[3].id, person="kim")
    return folder


def columns_of(folder):
    return sorted((folder / "bench" / "columns").glob("*.columns"))


def test_what_is_read_through_columns_is_what_the_records_say_also_the_second_time(tmp_path):
    with later(written(tmp_path)) as history:
        agree(history)
    assert len(columns_of(tmp_path)) == 2
    with later(tmp_path) as history:
        agree(history)
        since, until = datetime(2026, 7, 1, tzinfo=UTC), datetime(2026, 9, 28, 12, 0, tzinfo=UTC)
        assert in_columns(history, since=since, until=until) == plainly(history, since=since, until=until)


def test_the_second_time_no_month_is_opened(tmp_path):
    with later(written(tmp_path)) as history:
        before = in_columns(history)
    disk = FailingDisk()
    with later(tmp_path, disk=disk, read_only=True) as history:
        reads = disk.names.count("read")
        assert in_columns(history) == before
        assert disk.names.count("read") - reads == 2


def test_deleting_the_columns_changes_nothing(tmp_path):
    with later(written(tmp_path)) as history:
        before = in_columns(history)
        shutil.rmtree(tmp_path / "bench" / "columns")
        assert in_columns(history) == before


@pytest.mark.parametrize("bits", [
    pytest.param(lambda place: (place % 8,), id="one bit of each byte"),
    pytest.param(lambda place: range(8), id="every bit", marks=pytest.mark.long),
])  # fmt: skip
def test_no_flipped_bit_and_no_cut_of_a_file_of_columns_gives_a_wrong_value(tmp_path, bits):
    with later(written(tmp_path)) as history:
        history.numbers()
    path = columns_of(tmp_path)[0]
    whole, spoiled = path.read_bytes(), tmp_path / "spoiled.columns"
    for place in range(len(whole)):
        for bit in bits(place):
            data = bytearray(whole)
            data[place] ^= 1 << bit
            spoiled.write_bytes(data)
            assert read_columns(spoiled, Disk()) == []
        spoiled.write_bytes(whole[:place])
        assert read_columns(spoiled, Disk()) == []
    spoiled.write_bytes(whole)
    assert read_columns(spoiled, Disk())


@pytest.mark.parametrize("spoil", [lambda data: data[:50], lambda data: b"", lambda data: data[:90] + b"x" + data[91:]])
def test_a_damaged_file_of_columns_is_made_anew(tmp_path, spoil):
    with later(written(tmp_path)) as history:
        before = in_columns(history)
    for path in columns_of(tmp_path):
        path.write_bytes(spoil(path.read_bytes()))
    with later(tmp_path) as history:
        assert in_columns(history) == before
        assert not history.warnings
    assert all(read_columns(path, Disk()) for path in columns_of(tmp_path))


def test_columns_of_another_month_file_are_not_believed(tmp_path):
    with later(written(tmp_path)) as history:
        history.numbers()
    kept = columns_of(tmp_path)[0].read_bytes()
    with later(tmp_path) as history:
        history.save(reading(9.9, minutes=3))
    columns_of(tmp_path)[0].write_bytes(kept)
    with later(tmp_path) as history:
        agree(history)
        assert 9.9 in [each.value for each in history.numbers()]


def test_where_they_cannot_be_written_they_are_read_all_the_same(tmp_path):
    written(tmp_path)
    (tmp_path / "bench" / "columns").write_text("in the way")
    with later(tmp_path) as history:
        agree(history)


def test_reading_only_leaves_no_trace_and_a_backup_carries_none_of_them(tmp_path):
    farm = tmp_path / "farm"
    written(farm / "history")
    before = tree_of(farm)
    with later(farm / "history", read_only=True) as history:
        agree(history)
    assert tree_of(farm) == before
    with later(farm / "history") as history:
        agree(history)
    assert columns_of(farm / "history")
    made = backup(farm, tmp_path / "stick")
    assert not list(made.folder.rglob("*.columns"))


def test_a_month_that_cannot_be_read_for_a_moment_is_not_kept_without_its_numbers(tmp_path):
    with later(written(tmp_path)) as history:
        before = in_columns(history)
    shutil.rmtree(tmp_path / "bench" / "columns")
    disk = FailingDisk()
    with later(tmp_path, disk=disk) as history:
        history._library._held.clear()
        disk._fail_at, disk._times = disk.calls, 9
        history.numbers()
        disk.heal()
        history.refresh()
        assert in_columns(history) == before
    with later(tmp_path) as history:
        assert in_columns(history) == before


def test_ids_that_are_no_uuids_units_and_microseconds_come_back_as_they_were(tmp_path):
    with opened(tmp_path) as history:
        saved = history.save(
            *(reading(each / 3, minutes=each, unit=(None, "pH", "°C")[each % 3]) for each in range(7)),
            reading(1.0, measured_at=datetime(1971, 1, 1, 0, 0, 0, 1, tzinfo=UTC)),
        )
    numbers = [number_of(each) for each in saved]
    odd = [
        type(each)(*(getattr(each, name) for name in each.__struct_fields__[:-1]), f"id-{n}")
        for n, each in enumerate(numbers)
    ]
    for some in (numbers, odd):
        write_columns(tmp_path / "x.columns", Disk(), [month_columns(("bench", "2026-05"), (), some)])
        (month,) = read_columns(tmp_path / "x.columns", Disk())
        assert sorted(month.numbers(None, None), key=what) == sorted(some, key=what)


def test_a_number_takes_40_bytes_on_disk_and_a_little_for_its_column(tmp_path):
    """A time, a value and a rank of 8 bytes each, and 16 of the 36 characters of its id."""
    with opened(tmp_path) as history:
        numbers = [number_of(each) for each in history.save(*(reading(6.0, minutes=each) for each in range(100)))]
    write_columns(tmp_path / "x.columns", Disk(), [month_columns(("bench", "2026-05"), (), numbers)])
    assert 40 * 100 < (tmp_path / "x.columns").stat().st_size < 44 * 100


class Columned(RuleBasedStateMachine):
    """Two devices that write, correct, merge, break and repair, read through columns all the while."""

    @initialize()
    def begin(self):
        self.ids = seeded_ids(5)
        self.root = Path(tempfile.mkdtemp(dir=MEMORY))
        self.history = later(self.root / "bench", ids=self.ids)
        self.stick = opened(self.root / "stick", device="stick", ids=self.ids)
        self.known = []

    def teardown(self):
        if hasattr(self, "root"):
            self.history.close()
            self.stick.close()
            shutil.rmtree(self.root)

    def draft(self, minutes, value):
        return reading(float(value), minutes=minutes * 60, item=("ph", "ec")[value % 2])

    @rule(minutes=NUMBERS, value=NUMBERS)
    def save(self, minutes, value):
        self.known += [each.id for each in self.history.save(self.draft(minutes, value))]

    @rule(minutes=NUMBERS, value=NUMBERS)
    def save_on_the_stick(self, minutes, value):
        self.stick.save(self.draft(minutes, value))

    @precondition(lambda self: self.known)
    @rule(number=NUMBERS, minutes=NUMBERS, taken_back=st.booleans())
    def correct(self, number, minutes, taken_back):
        old = self.known[number % len(self.known)]
        if taken_back:
            self.history.void(old, person="kim")
        else:
            self.known.append(self.history.replace(old, self.draft(minutes, number)).id)

    @precondition(lambda self: (self.root / "stick" / "stick").is_dir())
    @rule()
    def merge(self):
        merge.apply(self.history, merge.preview(self.history, self.root / "stick"))

    @rule()
    def start_again(self):
        self.history.close()
        self.history = later(self.root / "bench", ids=self.ids)

    @precondition(lambda self: self.known)
    @rule(number=NUMBERS, place=st.integers(0, 10**6), bit=st.integers(0, 7))
    def flip_a_bit(self, number, place, bit):
        self.history.close()
        files = [each for each in sorted((self.root / "bench" / "bench").rglob("*")) if each.is_file()]
        path = files[number % len(files)]
        if path.stat().st_size and path.name not in ("lock", "reserve"):
            data = bytearray(path.read_bytes())
            data[place % len(data)] ^= 1 << bit
            path.write_bytes(data)
        repair(self.root / "bench")
        self.history = later(self.root / "bench", ids=self.ids)

    @rule()
    def read(self):
        agree(self.history)

    @invariant()
    def the_same_at_any_time(self):
        if hasattr(self, "history") and len(self.known) % 3 == 0:
            agree(self.history)


TestColumned = Columned.TestCase
TestColumned.settings = settings(
    max_examples=40, stateful_step_count=25, deadline=None, suppress_health_check=list(HealthCheck)
)
