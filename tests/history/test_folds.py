"""A fold that was kept and taken on gives what the same fold gives from the first record on, whatever came when."""

import shutil
import tempfile
from pathlib import Path

import msgspec
import pytest
from history_explorer import RecordingDisk, build, explore, tree_of
from history_tools import FailingDisk, opened, reading
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from rounds.history import merge, seeded_ids
from rounds.history.query import order
from rounds.history.repair import repair

MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None
NUMBERS = st.integers(0, 10_000)
KINDS = st.sampled_from(["dose", "dose", "stock", "reading"])


class Told(msgspec.Struct):
    """Everything it was given, in the order in which it was: nothing can go wrong unnoticed."""

    seen: list[tuple[str, float | None]] = []
    left: dict[str, float] = {}
    """What depends on the order: a count sets it, a dose takes from it."""


class Teller:
    """A fold that depends on every record and on their order."""

    name, kinds = "teller", frozenset({"dose", "stock"})

    def __init__(self, version="1"):
        self.version = version
        self.steps = 0

    def empty(self):
        return Told(seen=[], left={})

    def step(self, state, record):
        self.steps += 1
        state.seen.append((record.id, record.value))
        before = state.left.get(record.item, 0.0)
        state.left[record.item] = record.value if record.kind == "stock" else before - (record.value or 0.0)
        return state


def from_scratch(history):
    """The same by plain means: all standing records of its kinds, sorted."""
    fold, records = Teller(), [each for each in history.records() if each.kind in Teller.kinds]
    state = fold.empty()
    for record in sorted(records, key=order):
        state = fold.step(state, record)
    return state


class Folded(RuleBasedStateMachine):
    """Two devices that write, correct, take back, merge, restart and lose their summary; asked at any time or never."""

    @initialize()
    def begin(self):
        self.ids = seeded_ids(3)
        self.root = Path(tempfile.mkdtemp(dir=MEMORY))
        self.open()
        self.stick = opened(self.root / "stick", device="stick", ids=self.ids)
        self.known, self.on_stick = [], []

    def open(self, **more):
        self.history, self.fold = opened(self.root / "bench", ids=self.ids, **more), Teller()

    def teardown(self):
        if hasattr(self, "root"):
            self.history.close()
            self.stick.close()
            shutil.rmtree(self.root)

    def draft(self, minutes, kind, item, value):
        return reading(float(value), minutes=minutes * 60, kind=kind, item=f"i{item}", unit="mL")

    @rule(minutes=NUMBERS, kind=KINDS, item=st.integers(0, 2), value=NUMBERS)
    def save(self, minutes, kind, item, value):
        self.known += [each.id for each in self.history.save(self.draft(minutes, kind, item, value))]

    @rule(later=st.integers(1, 2_000), kind=KINDS, value=NUMBERS)
    def save_after_all_others(self, later, kind, value):
        last = max((each.measured_at for each in self.history.records(replaced=True)), default=None)
        one = self.draft(later, kind, 0, value)
        if last is not None and last.year < 2100:
            one = msgspec.structs.replace(
                one, measured_at=last + (one.measured_at - self.draft(0, kind, 0, 0).measured_at)
            )
        self.known += [each.id for each in self.history.save(one)]

    @rule(minutes=NUMBERS, kind=KINDS, value=NUMBERS)
    def save_on_the_stick(self, minutes, kind, value):
        self.on_stick += [each.id for each in self.stick.save(self.draft(minutes, kind, 1, value))]

    @precondition(lambda self: self.known)
    @rule(number=NUMBERS, minutes=NUMBERS, kind=KINDS)
    def correct(self, number, minutes, kind):
        old = self.known[number % len(self.known)]
        self.known.append(self.history.replace(old, self.draft(minutes, kind, 2, number)).id)

    @precondition(lambda self: self.on_stick)
    @rule(number=NUMBERS, minutes=NUMBERS)
    def correct_on_the_stick(self, number, minutes):
        old = self.on_stick[number % len(self.on_stick)]
        self.on_stick.append(self.stick.replace(old, self.draft(minutes, "dose", 2, number)).id)

    @precondition(lambda self: self.known)
    @rule(number=NUMBERS)
    def take_back(self, number):
        self.known.append(self.history.void(self.known[number % len(self.known)], person="Kim").id)

    @precondition(lambda self: self.on_stick)
    @rule()
    def merge(self):
        merge.apply(self.history, merge.preview(self.history, self.root / "stick"))
        self.known = sorted({*self.known, *self.on_stick})

    @precondition(lambda self: self.known)
    @rule()
    def bring_to_the_stick(self):
        merge.apply(self.stick, merge.preview(self.stick, self.root / "bench"))
        self.on_stick = sorted({*self.known, *self.on_stick})

    @rule()
    def sync_the_folder_of_the_stick(self):
        """A folder-sync tool brings the other device's own folder as it is."""
        if (self.root / "stick" / "stick").is_dir():
            self.stick.flush()
            shutil.copytree(self.root / "stick" / "stick", self.root / "bench" / "stick", dirs_exist_ok=True)
            self.history.refresh()
            self.known = sorted(each.id for each in self.history.records(replaced=True))

    @rule()
    def another_window_writes(self):
        with opened(self.root / "bench", ids=self.ids) as other:
            self.known += [each.id for each in other.save(self.draft(50, "dose", 1, 5))]
        self.history.refresh()

    @rule(read_only=st.booleans())
    def start_again(self, read_only):
        self.history.close()
        if read_only:
            with opened(self.root / "bench", read_only=True) as seen:
                assert seen.folded(Teller()) == from_scratch(seen)
        self.open()

    @rule()
    def start_and_end_without_asking(self):
        """A program that does not know the fold opens, writes and closes: what is kept must still hold."""
        self.history.close()
        with opened(self.root / "bench", ids=self.ids) as other:
            self.known += [each.id for each in other.save(self.draft(20_000, "stock", 1, 7))]
        self.open()

    @rule()
    def lose_the_summary(self):
        self.history.close()
        (self.root / "bench" / "bench" / "latest.summary").unlink(missing_ok=True)
        self.open()

    @precondition(lambda self: self.known)
    @rule(number=NUMBERS, place=st.integers(0, 10**6), bit=st.integers(0, 7))
    def flip_a_bit_and_repair(self, number, place, bit):
        self.history.close()
        files = [each for each in sorted((self.root / "bench").glob("*/*/*.json*")) if each.stat().st_size]
        path = files[number % len(files)]
        data = bytearray(path.read_bytes())
        data[place % len(data)] ^= 1 << bit
        path.write_bytes(data)
        repair(self.root / "bench")
        self.open()

    @rule()
    def ask(self):
        if hasattr(self, "history"):
            assert self.history.folded(self.fold) == from_scratch(self.history)
            assert self.history.is_folded(self.fold)

    @invariant()
    def what_is_said_to_be_there_is_right(self):
        if hasattr(self, "history") and self.history.is_folded(self.fold):
            assert self.history.folded(self.fold) == from_scratch(self.history)


TestFolded = Folded.TestCase
TestFolded.settings = settings(
    max_examples=25, stateful_step_count=30, deadline=None, suppress_health_check=list(HealthCheck)
)


@pytest.mark.long
def test_a_thousand_stories_of_folds():
    run_state_machine_as_test(
        Folded,
        settings=settings(
            max_examples=1000, stateful_step_count=40, deadline=None, suppress_health_check=list(HealthCheck)
        ),
    )


def doses(history, months=8):
    history.save(*(reading(1.0, minutes=60 * 24 * 30 * each, kind="dose", unit="mL") for each in range(months)))


def test_the_next_start_steps_through_nothing_and_one_dose_more_is_one_step(tmp_path):
    with opened(tmp_path) as history:
        doses(history)
        assert len(history.folded(Teller()).seen) == 8
    with opened(tmp_path) as history:
        fold = Teller()
        assert history.is_folded(fold) and len(history.folded(fold).seen) == 8
        history.save(reading(1.0, minutes=60 * 24 * 300, kind="dose", unit="mL"))
        assert len(history.folded(fold).seen) == 9
        assert fold.steps == 1


def test_what_was_folded_is_kept_once_and_not_written_again_while_nothing_comes(tmp_path):
    disk = FailingDisk()
    with opened(tmp_path, disk=disk) as history:
        doses(history)
        history.flush()
        for kept in (True, False):
            history.folded(Teller())
            before = len(disk.names)
            history.flush()
            assert ("replace" in disk.names[before:]) is kept


def test_a_late_dose_is_folded_from_the_month_before_it_not_from_the_beginning(tmp_path):
    with opened(tmp_path) as history:
        doses(history, 30)
        history.folded(Teller())
    with opened(tmp_path) as history:
        fold = Teller()
        history.is_folded(fold)
        history.save(reading(1.0, minutes=60 * 24 * 30 * 28 + 5, kind="dose", unit="mL"))
        assert not history.is_folded(fold)
        assert history.folded(fold) == from_scratch(history)
        assert fold.steps < 5


def test_readings_that_a_fold_does_not_look_at_leave_it_where_it_is(tmp_path):
    with opened(tmp_path) as history:
        doses(history)
        history.folded(Teller())
        history.replace(history.save(reading(6.0))[0].id, reading(6.4))
        assert history.is_folded(Teller())


@pytest.mark.parametrize("other", [Teller("2"), type("Other", (Teller,), {"kinds": frozenset({"stock"})})()])
def test_a_fold_of_another_version_or_of_other_kinds_is_folded_anew(tmp_path, other):
    with opened(tmp_path) as history:
        doses(history)
        history.folded(Teller())
    with opened(tmp_path) as history:
        assert not history.is_folded(other)
        assert len(history.folded(other).seen) == (8 if "dose" in other.kinds else 0)


def test_a_kept_state_of_another_shape_is_thrown_away(tmp_path):
    class Shifted(Teller):
        def empty(self):
            return [1.0]

        def step(self, state, record):
            return [*state, record.value]

    with opened(tmp_path) as history:
        doses(history, 3)
        history.folded(Teller())
    with opened(tmp_path) as history:
        assert history.folded(Shifted()) == [1.0, 1.0, 1.0, 1.0]


def test_a_state_that_was_given_out_can_be_changed_without_harm(tmp_path):
    with opened(tmp_path) as history:
        doses(history, 2)
        fold = Teller()
        history.folded(fold).seen.clear()
        assert len(history.folded(fold).seen) == 2


def test_asking_in_a_farm_that_is_only_read_leaves_no_trace(tmp_path):
    with opened(tmp_path, device="stick") as history:
        doses(history, 2)
    before = tree_of(tmp_path)
    with opened(tmp_path) as history:
        history.folded(Teller())
    with opened(tmp_path, read_only=True) as history:
        history.folded(Teller())
    assert tree_of(tmp_path) == before


def test_a_month_that_cannot_be_read_for_a_moment_is_folded_once_it_can(tmp_path):
    with opened(tmp_path) as history:
        doses(history)
    disk = FailingDisk()
    with opened(tmp_path, disk=disk) as history:
        history._library._held.clear()
        disk._fail_at, disk._times = disk.calls, 6
        history.folded(Teller())
        disk.heal()
        history.refresh()
        assert history.folded(Teller()) == from_scratch(history)


def test_after_every_power_cut_what_was_folded_is_what_is_there(quick):
    root = quick / "farm"
    root.mkdir()
    disk = RecordingDisk(root)
    with opened(root / "history", disk=disk) as history:
        fold = Teller()
        for number in range(3):
            history.save(reading(1.0, minutes=number * 60 * 24 * 20, kind="dose", unit="mL"))
            history.folded(fold)
            history.flush()
        history.void(history.records()[0].id, person="kim")
    number = 0

    def visit(tree, _):
        nonlocal number
        number += 1
        build(quick / f"{number}", tree)
        with opened(quick / f"{number}" / "history", read_only=True) as after:
            right = after.folded(Teller()) == from_scratch(after)
        shutil.rmtree(quick / f"{number}")
        return None if right else "folded wrongly"

    states, bad = explore(disk.log, {}, visit, most_per_cut=20)
    assert states > 60
    assert not bad, bad[:3]
