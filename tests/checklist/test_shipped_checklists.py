"""The checklists that come with the program: sound, complete, and quick enough for a cold morning."""

from __future__ import annotations

import tomllib

import pytest
from jsonschema import Draft202012Validator

from rounds.checklist.load import Checklists, load_checklists
from rounds.checklist.model import Checklist, Item
from rounds.checklist.quick_line import parse_line
from rounds.checklist.schema import checklist_schema
from rounds.farm.station_kinds import STATION_KINDS
from rounds.resources import checklists_folder
from rounds.units import show

LISTS = load_checklists(None)
ITEMS = [(kind, item) for kind, checklist in LISTS.by_kind.items() for item in checklist.items]
IDS = [f"{kind}-{item.id}" for kind, item in ITEMS]
WIDEST_LABEL = 50
"""With the last value and its date beside it, a longer one does not fit 80 columns."""


@pytest.fixture(scope="module")
def lists() -> Checklists:
    return LISTS


def ids(lists: Checklists, kind: str) -> set[str]:
    return {item.id for item in lists.by_kind[kind].items}


def test_they_load_without_a_mistake(lists: Checklists) -> None:
    assert [str(mistake) for mistake in lists.mistakes] == []


def test_they_fit_the_schema_that_editors_check_them_by() -> None:
    schema = checklist_schema()
    Draft202012Validator.check_schema(schema)
    for path in sorted(checklists_folder().glob("*.toml")):
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
        assert [error.message for error in Draft202012Validator(schema).iter_errors(raw)] == [], path.name
        raw["items"][0]["colour"] = "red"
        assert not Draft202012Validator(schema).is_valid(raw)


def test_there_is_one_for_every_kind_of_station_and_one_for_the_start(lists: Checklists) -> None:
    assert set(lists.by_kind) == {*STATION_KINDS, "alive"}


def test_the_walk_goes_from_what_is_lost_soonest_to_the_hens(lists: Checklists) -> None:
    order = sorted(STATION_KINDS, key=lambda kind: lists.by_kind[kind].rank)
    assert order == [
        "air", "seedlings", "reservoir", "channel", "tank", "bed", "trees", "ferment", "store", "safeguards", "hens",
    ]  # fmt: skip


def test_a_reservoir_is_read_in_the_order_of_the_probes(lists: Checklists) -> None:
    assert [item.id for item in lists.by_kind["reservoir"].quick_order] == ["ph", "ec", "t", "dip"]


def test_a_channel_has_everything_a_grower_looks_at(lists: Checklists) -> None:
    assert ids(lists, "channel") >= {
        "stream", "flow", "outlet", "roots", "root-end", "caps", "supports", "light", "wilt", "tip-burn", "pests",
        "losses", "harvest",
    }  # fmt: skip


def test_safeguards_have_test_dates_of_their_own(lists: Checklists) -> None:
    assert ids(lists, "safeguards") >= {"float", "spare-pump", "rcd", "eyewash", "generator"}
    for item in lists.by_kind["safeguards"].items:
        assert item.ask == "always"
        assert item.due


def test_at_dusk_the_hens_are_counted_and_shut_in(lists: Checklists) -> None:
    dusk = {item.id: item for item in lists.by_kind["hens"].items if "dusk" in item.rounds}
    assert dusk["perch"].well == "station.birds"
    assert "shut" in dusk


@pytest.mark.parametrize(("kind", "item"), ITEMS, ids=IDS)
def test_an_item_says_what_to_do_when_it_is_off(kind: str, item: Item) -> None:
    assert item.off or item.type == "note"
    assert len(item.label) <= WIDEST_LABEL


@pytest.mark.parametrize(("kind", "item"), [(k, i) for k, i in ITEMS if i.type == "reading"])
def test_the_band_of_a_reading_lies_within_its_limits(kind: str, item: Item) -> None:
    assert item.limits is not None
    if isinstance(item.band, tuple):
        assert item.limits[0] <= item.band[0] < item.band[1] <= item.limits[1]


@pytest.mark.parametrize(("kind", "item"), [(k, i) for k, i in ITEMS if i.is_number and i.names])
def test_what_is_shown_can_be_typed_again(kind: str, item: Item) -> None:
    """Its usual unit is one that is read, and none of its names is taken for a unit."""
    low, high = item.limits or (0.0, 5.0)
    value = round((low + high) / 2, item.decimals)
    checklist: Checklist = LISTS.by_kind[kind]
    for name in item.names:
        (entry,) = parse_line(f"{name} {show(value, item.unit, item.decimals)}", checklist.number_items)
        assert (entry.item_id, entry.value) == (item.id, pytest.approx(value))


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("ferment", ["Carbon dioxide", "never go in after a person"]),
        ("safeguards", ["residual-current", "local code", "Outdoors only"]),
        ("store", ["chlorine gas", "Goggles", "straw"]),
        ("hens", ["vet", "label", "waiting time"]),
        ("alive", ["touch no switch", "wet hands"]),
        ("channel", ["waiting time from the label only"]),
        ("reservoir", ["chlorine gas", "unplugged"]),
    ],
)
def test_cautions_stand_where_work_can_hurt(lists: Checklists, kind: str, words: list[str]) -> None:
    texts = " ".join(f"{item.how} {item.why} {item.off} {item.label}" for item in lists.by_kind[kind].items)
    for word in words:
        assert word.casefold() in texts.casefold()


def test_no_checklist_gives_a_number_for_a_waiting_time(lists: Checklists) -> None:
    """Re-entry, pre-harvest and withdrawal times come from the label or the vet (EPA WPS; FARAD)."""
    for _, item in ITEMS:
        text = f"{item.how} {item.why} {item.off}".casefold()
        for sentence in text.split("."):
            if "waiting" in sentence or "withdrawal" in sentence or "re-entry" in sentence:
                assert not any(c.isdigit() for c in sentence), sentence
