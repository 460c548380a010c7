"""Which record of a family counts, by hand: of those that nothing replaces the one of highest rank."""

import pytest

from rounds.history.replacements import Replacements


@pytest.fixture
def family():
    """A is replaced by b and by c, b by d; x stands alone."""
    found = Replacements()
    for id, replaced, rank in (
        ("b", "a", (2, "bench", "b")),
        ("c", "a", (5, "stick", "c")),
        ("d", "b", (3, "bench", "d")),
    ):
        assert found.add(id, replaced, rank)
    return found


def test_the_highest_of_those_that_nothing_replaces_counts(family):
    assert [family.standing(each) for each in "abcdx"] == ["c", "c", "c", "c", "x"]
    assert [family.stands(each) for each in "abcdx"] == [False, False, True, False, True]
    assert family.add("e", "d", (9, "bench", "e"))
    assert [family.stands(each) for each in "abcdex"] == [False, False, False, False, True, True]


def test_a_family_is_listed_root_first_each_generation_by_rank(family):
    for each in "abcd":
        assert family.family(each) == ["a", "b", "c", "d"]
    assert family.family("x") == ["x"]
    assert family.children("a") == ("b", "c") and family.children("c") == ()
    assert family.rows() == [("b", "a", 2, "bench"), ("c", "a", 5, "stick"), ("d", "b", 3, "bench")]


def test_the_same_is_taken_in_once_and_a_ring_has_a_winner_too(family):
    assert not family.add("b", "x", (99, "stick", "b"))
    assert family.family("b") == ["a", "b", "c", "d"]
    ring = Replacements()
    ring.add("p", "q", (1, "bench", "p"))
    ring.add("q", "p", (2, "bench", "q"))
    assert ring.standing("p") == ring.standing("q") == "q"
    assert sorted(ring.family("p")) == sorted(ring.family("q")) == ["p", "q"]


def test_of_equal_counters_the_device_then_the_id_decides():
    found = Replacements()
    for id, device in (("m", "bench"), ("k", "stick"), ("l", "stick")):
        found.add(id, "a", (4, device, id))
    assert found.standing("a") == "l"
