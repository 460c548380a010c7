"""Checklist files: what they may say, and how mistakes in them are told."""

from __future__ import annotations

from pathlib import Path

import pytest

from rounds.checklist.load import Checklists, load_checklists

HEAD = 'format = 1\nkind = "bed"\ntitle = "Bed"\nrank = 60\n'
LEAF = '[[items]]\nid = "leaf"\ntype = "yes_no"\nlabel = "Leaf sound"\nwell = true\n'
GAP = '[[items]]\nid = "gap"\ntype = "reading"\nlabel = "Gap"\nnames = ["gap"]\nunit = "cm"\nlimits = [0, 99]\n'


@pytest.fixture
def shipped(tmp_path: Path) -> Path:
    folder = tmp_path / "shipped"
    folder.mkdir()
    return folder


def load(shipped: Path, text: str, farm: Path | None = None) -> Checklists:
    (shipped / "bed.toml").write_text(text, encoding="utf-8")
    return load_checklists(farm, shipped=shipped)


def told(found: Checklists) -> str:
    return "\n".join(str(mistake) for mistake in found.mistakes)


def test_a_sound_file_loads_without_mistakes(shipped: Path) -> None:
    found = load(shipped, HEAD + LEAF + GAP)
    assert found.mistakes == ()
    assert [item.id for item in found.by_kind["bed"].items] == ["leaf", "gap"]
    assert found.item("bed", "gap") is not None
    assert found.item("bed", "nothing") is None
    assert found.of("nothing") is None


NOTE = 'id = "a"\ntype = "note"\nlabel = "A"\n'
READING = 'id = "a"\ntype = "reading"\nlabel = "A"\n'


@pytest.mark.parametrize(
    ("item", "words"),
    [
        ('id = "a"\ntype = "yes_no"\nlabel = "A"', ["well", "true or false"]),
        ('id = "a"\ntype = "yes_no"\nlabel = "A"\nwell = "yes"', ["well", "yes"]),
        (READING + 'names = ["a"]', ["limits"]),
        (READING + 'limits = [0, 1]', ["names"]),
        (READING + 'names = ["a"]\nlimits = [2, 1]', ["limits", "low end"]),
        (READING + 'names = ["A1"]\nlimits = [0, 1]', ["names", "lower-case letters"]),
        (READING + 'names = ["a"]\nlimits = [0, 1]\nband = "stage.x"', ["band", "stage.x"]),
        (READING + 'names = ["a"]\nlimits = [0, 1]\nwell = 3', ["well"]),
        ('id = "a"\ntype = "choice"\nlabel = "A"\nchoices = ["x"]\nwell = ["x"]', ["choices", "two"]),
        ('id = "a"\ntype = "choice"\nlabel = "A"\nchoices = ["x", "y"]\nwell = ["z"]', ["well", "x, y", "z"]),
        ('id = "a"\ntype = "choice"\nlabel = "A"\nchoices = ["x", "y"]', ["well"]),
        ('id = "a"\ntype = "count"\nlabel = "A"\nwell = true', ["well", "largest count"]),
        ('id = "a"\ntype = "weight"\nlabel = "A"', ["type", "weight", "reading"]),
        (NOTE + 'rounds = []', ["rounds", "morning"]),
        (NOTE + 'rounds = ["noon"]', ["rounds", "noon", "midday"]),
        (NOTE + 'colour = "red"', ["colour", "no such key"]),
        (NOTE + 'due = [{ every_days = 0 }]', ["every_days", "1 or more"]),
        (NOTE + 'due = [{ months = [13] }]', ["months", "1 to 12"]),
        (NOTE + 'due = [{ weekdays = ["someday"] }]', ["weekdays", "someday"]),
        (NOTE + 'due = [{ every_days = 2, weekdays = ["monday"] }]', ["every_days", "both"]),
        (NOTE + 'due = [{ until_days = 2 }]', ["after", "event"]),
        (NOTE + 'due = [{ after = "storm", from_days = 3, until_days = 3 }]', ["until_days"]),
        (NOTE + 'follows = "b"', ["follows", "another item"]),
        (NOTE + 'follows = "a"', ["follows", "another item"]),
    ],
)  # fmt: skip
def test_a_bad_item_is_told_and_the_rest_still_loads(shipped: Path, item: str, words: list[str]) -> None:
    found = load(shipped, f"{HEAD}{LEAF}[[items]]\n{item}\n")
    assert [each.id for each in found.by_kind["bed"].items] == ["leaf"]
    assert "checklists/bed.toml" in told(found)
    for word in words:
        assert word in told(found)


def test_all_mistakes_are_told_at_once(shipped: Path) -> None:
    bad = '[[items]]\nid = "a"\ntype = "weight"\nlabel = "A"\n[[items]]\nid = "b"\ntype = "yes_no"\nlabel = "B"\n'
    found = load(shipped, HEAD + bad)
    assert len(found.mistakes) == 2
    assert {"items[0].type", "items[1].well"} == {mistake.key for mistake in found.mistakes}


def test_an_id_and_a_name_stand_once_in_a_checklist(shipped: Path) -> None:
    found = load(shipped, HEAD + GAP + GAP + GAP.replace('id = "gap"', 'id = "gap-2"'))
    assert [mistake.key for mistake in found.mistakes] == ["items[1].id", "items[2].names"]
    assert [item.id for item in found.by_kind["bed"].items] == ["gap"]


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("format = 2" + HEAD[10:], "format"),
        (HEAD.replace('kind = "bed"\n', ""), "kind"),
        (HEAD.replace("rank = 60", 'rank = "first"'), "rank"),
        ("items = 3\n" + HEAD, "items"),
        ("this is no TOML", "line 1, column 6 can't be read"),
        ("", "empty"),
    ],
)
def test_a_bad_file_is_told_and_does_not_stop_the_others(shipped: Path, text: str, word: str) -> None:
    (shipped / "hens.toml").write_text(HEAD.replace("bed", "hens") + LEAF, encoding="utf-8")
    found = load(shipped, text)
    assert word in told(found)
    assert "checklists/bed.toml" in told(found)
    assert "hens" in found.by_kind


def test_bytes_that_are_no_text_are_told(shipped: Path) -> None:
    (shipped / "bed.toml").write_bytes(b"\xff\xfe\x00")
    assert "UTF-8" in told(load_checklists(None, shipped=shipped))


def test_the_farm_overrides_a_shipped_checklist_by_its_file_name(shipped: Path, tmp_path: Path) -> None:
    own = tmp_path / "farm" / "checklists"
    own.mkdir(parents=True)
    (own / "bed.toml").write_text(HEAD + GAP, encoding="utf-8")
    (own / "mushrooms.toml").write_text(HEAD.replace("bed", "mushrooms") + LEAF, encoding="utf-8")
    found = load(shipped, HEAD + LEAF, tmp_path / "farm")
    assert [item.id for item in found.by_kind["bed"].items] == ["gap"]
    assert "mushrooms" in found.by_kind


def test_two_files_for_one_kind_are_told(shipped: Path, tmp_path: Path) -> None:
    own = tmp_path / "farm" / "checklists"
    own.mkdir(parents=True)
    (own / "my-bed.toml").write_text(HEAD + GAP, encoding="utf-8")
    found = load(shipped, HEAD + LEAF, tmp_path / "farm")
    assert "my-bed.toml" in told(found)
    assert [item.id for item in found.by_kind["bed"].items] == ["leaf"]


def test_a_farm_without_checklists_of_its_own_has_the_shipped_ones(shipped: Path, tmp_path: Path) -> None:
    assert load(shipped, HEAD + LEAF, tmp_path).by_kind.keys() == {"bed"}


@pytest.mark.parametrize(
    ("item", "word"),
    [
        (
            '[[items]]\nid = "n"\ntype = "count"\nlabel = "N"\nwell = 0\nquick = true\n',
            "names: found nothing, expected a word",
        ),
        (LEAF + "quick = true\n", "quick: found a yes_no, expected true only where a number"),
    ],
)
def test_a_place_in_the_bare_numbers_wants_a_number_and_a_name(shipped: Path, item: str, word: str) -> None:
    found = load(shipped, HEAD + item)
    assert word in told(found)


def test_a_count_without_names_is_sound_where_it_has_no_place_in_the_bare_numbers(shipped: Path) -> None:
    assert load(shipped, HEAD + '[[items]]\nid = "n"\ntype = "count"\nlabel = "N"\nwell = 0\n').mistakes == ()
