"""Several values saved as one: what a power cut or a failing disk left of them is there whole or not at all."""

import os

import pytest
from hand_made import flipped
from history_tools import opened, reading

from rounds.history.append import NotConfirmed
from rounds.history.check import check
from rounds.history.disk import Disk
from rounds.history.quarantine import quarantined
from rounds.history.repair import repair


@pytest.fixture
def journal(tmp_path):
    """One value, then four as one; no monthly file has been written yet."""
    history = opened(tmp_path / "history")
    history.save(reading(note="alone"))
    history.save(*(reading(minutes=minutes, note="of four") for minutes in range(1, 5)))
    for more in ("2026-05.json", "2026-05.json.bak"):
        (tmp_path / "history" / "bench" / "2026" / more).unlink(missing_ok=True)
    return tmp_path / "history" / "bench" / "2026" / "2026-05.jsonl"


def notes(journal, **more):
    with opened(journal.parents[2], **more) as history:
        return [each.note for each in history.records(replaced=True)]


def lines(journal):
    return journal.read_bytes().splitlines(keepends=True)


def left_by_a_cut(journal):
    """What may be on the disk of the four: a beginning, a beginning with a torn line, a hole before the rest."""
    first, *four = lines(journal)
    yield first + four[0]
    yield first + b"".join(four[:3])
    yield first + four[0] + four[1][:40]
    yield first + bytes(len(four[0])) + b"".join(four[1:])
    yield first + bytes(len(four[0]) - 1) + b"\n" + b"".join(four[1:])
    yield first + four[0] + bytes(len(four[1]) + len(four[2])) + four[3]


@pytest.mark.parametrize("number", range(6))
def test_of_four_values_that_the_power_cut_halved_none_is_left_and_all_is_sound(journal, number):
    journal.write_bytes(list(left_by_a_cut(journal))[number])
    assert notes(journal, read_only=True) == ["alone"], "also where nothing may be put right"
    assert notes(journal) == ["alone"]
    assert quarantined(journal.parents[2])
    with opened(journal.parents[2]) as history:
        assert [each.seq for each in history.save(reading(minutes=9), reading(minutes=10))] == [2, 3]
    assert check(journal.parents[2]).sound, check(journal.parents[2]).sentences


def test_what_was_damaged_later_takes_nothing_with_it(journal):
    first, one, *others = lines(journal)
    journal.write_bytes(first + flipped(flipped(one, 60), 90) + b"".join(others))
    assert notes(journal) == ["alone", "of four", "of four", "of four"]
    assert not check(journal.parents[2]).sound
    repair(journal.parents[2])
    assert check(journal.parents[2]).sound, "what is missing is known now"
    assert any("missing" in each for each in check(journal.parents[2]).sentences)
    assert notes(journal) == ["alone", "of four", "of four", "of four"]


def test_what_stands_in_the_monthly_file_was_acknowledged_and_stays(journal):
    with opened(journal.parents[2]) as history:
        history.save(reading(minutes=20))
    whole = lines(journal)
    journal.write_bytes(b"".join(whole[:3]))
    assert len(notes(journal)) == 6


class Stuck(Disk):
    """Once `stuck`, writes no more than some bytes of a journal, and takes nothing back."""

    stuck = False
    most = 700

    def write(self, fd, data):
        if self.stuck and data.startswith(b'{"sum"'):
            super().write(fd, data[: self.most])
            raise OSError(5, os.strerror(5))
        return super().write(fd, data)

    def ftruncate(self, fd, size):
        if self.stuck:
            raise OSError(5, os.strerror(5))
        super().ftruncate(fd, size)


def test_four_values_of_which_two_arrived_unconfirmed_are_written_again_without_a_gap(tmp_path):
    disk = Stuck()
    four = [reading(minutes=minutes) for minutes in range(4)]
    with opened(tmp_path / "history", disk=disk) as history:
        history.save(reading(note="alone"))
        disk.stuck = True
        with pytest.raises(NotConfirmed):
            history.save(*four)
        disk.stuck = False
        saved = history.save(*four)
        assert [each.seq for each in saved] == [2, 3, 4, 5]
    found = check(tmp_path)
    assert (found.records, found.sound) == (5, True), found.sentences
