"""Saving, correcting, crashing, starting again, merging and flipping bits in any order, against a plain dictionary."""

import shutil
import tempfile
from pathlib import Path

import pytest
from history_tools import opened, reading
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
from rounds.history.check import check
from rounds.history.repair import repair

MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None
NUMBERS = st.integers(0, 10_000)


class Life(RuleBasedStateMachine):
    """One farm on a bench, a stick that writes too, and a model of what must be there."""

    @initialize()
    def begin(self):
        self.ids = seeded_ids(1)
        self.root = Path(tempfile.mkdtemp(dir=MEMORY))
        self.history = opened(self.root / "bench", ids=self.ids)
        self.stick = opened(self.root / "stick", device="stick", ids=self.ids)
        self.model, self.on_stick = {}, {}

    def teardown(self):
        if hasattr(self, "root"):
            self.history.close()
            self.stick.close()
            shutil.rmtree(self.root)

    def keep(self, *records):
        self.model.update((each.id, each) for each in records)

    def pick(self, number):
        return sorted(self.model)[number % len(self.model)]

    @rule(minutes=NUMBERS, value=st.floats(0, 14), several=st.integers(1, 3))
    def save(self, minutes, value, several):
        self.keep(
            *self.history.save(*(reading(value, minutes=minutes * 20, item=f"i{each}") for each in range(several)))
        )

    @rule(minutes=NUMBERS, value=st.floats(0, 14))
    def save_on_the_stick(self, minutes, value):
        (saved,) = self.stick.save(reading(value, minutes=minutes * 20, item="i0"))
        self.on_stick[saved.id] = saved

    @precondition(lambda self: self.on_stick)
    @rule(number=NUMBERS, minutes=NUMBERS)
    def correct_on_the_stick(self, number, minutes):
        chosen = sorted(self.on_stick)[number % len(self.on_stick)]
        new = self.stick.replace(chosen, reading(1, minutes=minutes * 20, item="i0"))
        self.on_stick[new.id] = new

    @precondition(lambda self: self.model)
    @rule(number=NUMBERS, minutes=NUMBERS)
    def correct(self, number, minutes):
        self.keep(self.history.replace(self.pick(number), reading(7.0, minutes=minutes * 20, item="i1")))

    @precondition(lambda self: self.model)
    @rule(number=NUMBERS)
    def take_back(self, number):
        self.keep(self.history.void(self.pick(number), person="Kim"))

    @precondition(lambda self: self.on_stick)
    @rule()
    def merge(self):
        merge.apply(self.history, merge.preview(self.history, self.root / "stick"))
        self.keep(*self.on_stick.values())

    @precondition(lambda self: self.model)
    @rule()
    def bring_back_to_the_stick(self):
        merge.apply(self.stick, merge.preview(self.stick, self.root / "bench"))
        self.on_stick.update(self.model)

    @rule()
    def rewrite(self):
        self.history.flush()

    @rule()
    def start_again(self):
        self.history.close()
        self.history = opened(self.root / "bench", ids=self.ids)

    @rule(junk=st.binary(max_size=40), number=NUMBERS)
    def crash(self, junk, number):
        """Leave everything as it stands, and a broken last line in one of the own journals."""
        self.history._rewriter.stop()
        self.history._writer.close()
        journals = sorted((self.root / "bench" / "bench").rglob("*.jsonl"))
        if journals:
            with journals[number % len(journals)].open("ab") as file:
                file.write(junk.replace(b"\n", b""))
        self.history = opened(self.root / "bench", ids=self.ids)

    @precondition(lambda self: self.model)
    @rule(number=NUMBERS, place=st.integers(0, 10**6), bit=st.integers(0, 7))
    def flip(self, number, place, bit):
        self.history.close()
        files = [each for each in sorted((self.root / "bench").glob("*/*/*.json*")) if each.stat().st_size]
        path = files[number % len(files)]
        data = bytearray(path.read_bytes())
        data[place % len(data)] ^= 1 << bit
        path.write_bytes(data)
        assert check(self.root / "bench").damaged
        repair(self.root / "bench")
        assert not check(self.root / "bench").damaged
        self.history = opened(self.root / "bench", ids=self.ids)

    @invariant()
    def everything_is_there(self):
        if hasattr(self, "model"):
            assert {each.id: each for each in self.history.records(replaced=True)} == self.model

    @invariant()
    def what_stands_is_what_the_rule_says(self):
        if hasattr(self, "model"):
            standing = {each.id for each in self.history.records()}
            assert standing == set(standing_in(self.model))
            newest = {}
            for id in standing:
                each = self.model[id]
                key = each.station, each.item
                if key not in newest or (newest[key].measured_at, newest[key].rank) < (each.measured_at, each.rank):
                    newest[key] = each
            assert self.history.latest_by_item(within_days=10_000) == newest


def standing_in(model):
    """Families by plain search; of the members nothing replaces, the highest rank stands unless it is void."""
    replaced = {each.replaces for each in model.values()}
    roots = {}
    for id in model:
        root = id
        while model[root].replaces in model:
            root = model[root].replaces
        roots.setdefault(root, []).append(model[id])
    for members in roots.values():
        winner = max((each for each in members if each.id not in replaced), key=lambda each: each.rank)
        if not winner.void:
            yield winner.id


TestLife = Life.TestCase
TestLife.settings = settings(
    max_examples=20, stateful_step_count=30, deadline=None, suppress_health_check=list(HealthCheck)
)


@pytest.mark.long
def test_a_long_life():
    many = settings(TestLife.settings, max_examples=800, stateful_step_count=50)
    run_state_machine_as_test(Life, settings=many)
