"""Whatever stands in a record, it stops neither a verb nor the app: it is passed over, and that is said."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import odd_records
import pytest

from rounds.app import RoundsApp
from rounds.cli import main
from rounds.errors import BadInput
from rounds.history import Draft, History
from rounds.history.check import check
from rounds.history.journal import parse
from rounds.history.repair import repair
from rounds.record_kinds import KINDS
from rounds.walk.open_corrections import open_correction_of
from rounds.walk.session import Session
from tests import keyboard

Docs = list[dict[str, Any]]
Put = Callable[..., Path]
LINE = "ph 6.9 ec 1.4 t 20 dip 30"
READING = [
    ["due"], ["due", "--json"], ["card"], ["change", "--plot"], ["correct", "res-1", LINE], ["history", "--all"],
    ["history", "--json"], ["history", "--csv"], ["check"], ["check", "--json"], ["relief", "--report"],
    ["relief", "--plan"], ["mix", "top-up", "res-1"], ["mix", "change-out", "res-1"], ["mix", "concentrate", "leaf"],
]  # fmt: skip


def now() -> datetime:
    return datetime.now(UTC).astimezone()


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """What a verb says; it ends with 0 or 1, and never with a traceback."""
    capsys.readouterr()
    assert main(list(words)) in (0, 1), (words, capsys.readouterr())
    both = capsys.readouterr()
    return both.out + both.err


def every_verb(capsys: pytest.CaptureFixture[str], farm: Path) -> None:
    for verb, *rest in READING:
        said(capsys, verb, str(farm), *rest)
    assert "not saved" not in said(capsys, "enter", str(farm), "ch-1", "flow 1.1")
    assert "copied" in said(capsys, "backup", str(farm), str(farm.parent / "stick"))


def handed_over(capsys: pytest.CaptureFixture[str], farm: Path) -> None:
    said(capsys, "relief", str(farm))
    bundle = farm.parent / "bundle.zip"
    said(capsys, "relief", str(farm), "--bundle", str(bundle))
    assert "records" in said(capsys, "open", str(bundle), str(farm.parent / "opened"))
    assert "due" in said(capsys, "due", str(farm.parent / "opened"))


def test_every_kind_of_the_table_is_made_odd(true_docs: Docs) -> None:
    assert {doc["kind"] for doc in true_docs} == set(KINDS)


@pytest.mark.parametrize("seed", range(3))
def test_no_odd_record_stops_a_verb(farm: Path, true_docs: Docs, capsys: pytest.CaptureFixture[str], seed: int) -> None:
    odd_records.write(farm, odd_records.some(true_docs, seed, 40), now())
    every_verb(capsys, farm)


def test_a_bundle_of_a_farm_with_odd_records_opens(
    farm: Path, true_docs: Docs, capsys: pytest.CaptureFixture[str]
) -> None:
    """A station that nobody knows stops a bundle, which is told; so each lies where its true record did."""
    odd = [doc for doc in odd_records.some(true_docs, 400, 60) if doc.get("station") == doc["_true"].get("station")]
    odd_records.write(farm, odd, now())
    handed_over(capsys, farm)


@pytest.mark.long
def test_no_odd_record_stops_a_verb_whatever_is_odd(
    laid_out: Path, tmp_path: Path, true_docs: Docs, capsys: pytest.CaptureFixture[str]
) -> None:
    for seed in range(60):
        farm = Path(shutil.copytree(laid_out, tmp_path / str(seed) / "farm"))
        odd_records.write(farm, odd_records.some(true_docs, seed, random.Random(seed).choice((1, 5, 25))), now())
        every_verb(capsys, farm)
        handed_over(capsys, farm)
        shutil.rmtree(farm.parent)


ODDITIES: list[tuple[str, dict[str, Any]]] = [
    ("check", {"item": "all-well", "data": {"covers": 5}}),
    ("check", {"item": "all-well", "data": {"covers": None}}),
    ("check", {"item": "all-well", "data": {"covers": ["pump", 5]}}),
    ("round", {"item": "dusk", "data": {"open": 5}}),
    *(("correction", {"data": {key: value}})
      for key in ("prediction", "steps", "findings", "refusals", "assumed", "input", "explain")
      for value in (5, [5])),
    ("correction", {"data": {"prediction": {"mixed": 5}}}),
    ("correction", {"data": {"prediction": {"mixed": {"ec_ms_cm": {"low": "x"}}}}}),
    ("correction", {"data": {"steps": [{"action": "acid", "amount": "much", "unit": "mL"}]}}),
    ("correction", {"data": {"steps": [{"action": "acid", "after": {"ph": {"low": 5}}}]}}),
    ("correction", {"data": {"steps": [{"action": "jar_test", "of_water": 5}]}}),
    ("correction", {"data": {"input": {"answers": ["jar"]}}}),
    *(("reading", {"item": "jar", "data": jar})
      for jar in ({"ml_per_l": "x"}, {"ml_per_l": 1e300}, {"product": 5}, {"water": [1]})),
    ("dose", {"data": {"correction": [1]}}),
    ("dose", {"data": {"action": {"a": 1}}}),
    ("dose", {"data": {"step": "x"}}),
    ("dose", {"value": "much"}), ("dose", {"value": True}), ("dose", {"value": 1e300}), ("dose", {"unit": "ladle"}),
    ("reading", {"value": "x"}), ("reading", {"value": None}), ("reading", {"value": True}),
    ("reading", {"measured_at": "0001-01-01T00:00:00Z"}),
    ("reading", {"measured_at": "9999-12-31T23:59:59-05:00"}),
    ("reading", {"measured_at": "2026-11-25T06:00:00"}),
    ("reading", {"seq": "x"}), ("reading", {"id": [1]}), ("reading", {"lamport": 2**60}),
    ("reading", {"data": {"deep": odd_records.nested(900)}}), ("note", {"marks": 5}), ("dose", {"data": 5}),
    ("stock", {"value": "many"}),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "fields"), ODDITIES, ids=lambda each: str(each)[:60])
def test_an_odd_record_is_passed_over_and_said(
    farm: Path, odd: Put, capsys: pytest.CaptureFixture[str], kind: str, fields: dict[str, Any]
) -> None:
    odd(kind, **fields)
    shown = said(capsys, "due", str(farm))
    assert "! 1 record of device d-odd is odd and passed over" in shown
    assert "passed over" in said(capsys, "history", str(farm))
    assert "d-odd" in said(capsys, "check", str(farm)) and len(check(farm).odd) == 1
    assert "not saved" not in said(capsys, "enter", str(farm), "ch-1", "flow 1.1")
    assert "! 1 record of device d-odd" in said(capsys, "due", str(farm))  # from the summary too


def test_a_line_that_is_passed_over_stays_as_it_is(farm: Path, odd: Put) -> None:
    journal = odd("reading", id=[1])
    line = journal.read_bytes()
    with History.open(farm / "history", device="bench") as history:
        history.save(Draft(kind="note", note="on we go", measured_at=now()))
    assert journal.read_bytes() == line
    journal.write_bytes(line + b'{"sum":"damaged"}\n')
    repair(farm)
    assert parse(journal.read_bytes()).bodies == parse(line).bodies


def test_no_step_of_an_odd_correction_is_offered(farm: Path, odd: Put) -> None:
    odd("correction", data={"assumed": 5})
    with Session.open(farm, read_only=True).history as history:
        (newest,) = [r for r in history.records(kind="correction") if r.device == "d-odd"]
        assert "steps" not in newest.data and "assumed" not in newest.data and "findings" in newest.data
    assert open_correction_of(Session.open(farm, read_only=True), "res-1") is None


def test_a_dose_of_an_amount_that_cannot_be_read_still_counts_as_poured(
    farm: Path, odd: Put, capsys: pytest.CaptureFixture[str]
) -> None:
    odd("dose", like="nitric-8", value="a glass")
    with Session.open(farm, read_only=True).history as history:
        dose = history.records(kind="dose")[-1]
        assert (dose.device, dose.item, dose.value) == ("d-odd", "nitric-8", None)
    assert "not mixed in yet" in said(capsys, "correct", str(farm), "res-1", LINE)


def test_a_record_of_a_newer_version_is_passed_over_and_the_farm_still_writes(
    farm: Path, odd: Put, capsys: pytest.CaptureFixture[str]
) -> None:
    odd("reading", format=2)
    shown = said(capsys, "enter", str(farm), "ch-1", "flow 1.1")
    assert "not saved" not in shown and "flow 1.1" in shown
    assert "1 record of device d-odd is from a newer version of this program" in shown


def test_a_record_of_an_unknown_kind_is_kept_and_nothing_is_said(
    farm: Path, odd: Put, capsys: pytest.CaptureFixture[str]
) -> None:
    odd("note", kind="moon-phase", value=0.25, data={"covers_of_tomorrow": {"a": [1]}})
    assert "odd" not in said(capsys, "due", str(farm))
    assert "moon phase" in said(capsys, "history", str(farm))


def test_a_forged_counter_leaves_room_for_our_own_records(farm: Path, odd: Put) -> None:
    odd("note", lamport=2**41 - 1)
    with History.open(farm / "history", device="bench") as history:
        (saved,) = history.save(Draft(kind="note", note="ours", measured_at=now()))
    with History.open(farm / "history", device="bench", read_only=True) as history:
        assert history.get(saved.id) == saved


@pytest.mark.parametrize("draft", [
    Draft(kind="reading", value="x", measured_at=now()), Draft(kind="dose", value=-1.0, measured_at=now()),
    Draft(kind="check", item="all-well", data={"covers": 5}, measured_at=now()),
])  # fmt: skip
def test_what_could_not_be_read_again_is_not_saved(farm: Path, draft: Draft) -> None:
    with History.open(farm / "history", device="bench") as history, pytest.raises(BadInput):
        history.save(draft)


def test_many_devices_with_odd_records_are_told_in_one_line(farm: Path, true_docs: Docs) -> None:
    started = next(doc for doc in true_docs if doc["kind"] == "round")
    for number in range(5):
        odd_records.write(farm, [{**started, "value": 5, "_true": started}], now(), device=f"d-{number}")
    with History.open(farm / "history", read_only=True) as history:
        assert [each for each in history.warnings if "odd" in each] == [
            f"5 records of 5 devices are odd and passed over, not readable since {now().astimezone(UTC):%B %Y}: "
            "`rounds check FARM` names what is odd."
        ]


def test_odd_records_come_in_by_a_merge_and_stop_nothing(
    farm: Path, true_docs: Docs, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    other = tmp_path / "other"
    odd_records.write(other, odd_records.some(true_docs, 100, 60), now())
    assert "new" in said(capsys, "merge", str(farm), str(other / "history"), "--yes")
    journal = odd_records.write(other, odd_records.some(true_docs, 200, 60), now(), device="d-file")
    assert "new" in said(capsys, "merge", str(farm), str(journal), "--yes")
    every_verb(capsys, farm)


async def walk_over(farm: Path) -> str:
    """Open the first screen, daybook, shelf, slow change, stations, the round and its end; give the first screen."""
    app = RoundsApp(farm)
    async with app.run_test(size=(80, 24), notifications=True):

        async def press(*keys: str) -> None:
            for key in keys:
                keyboard.type_at_once(app, key)
                await keyboard.until(app, lambda: app.keys_are_through)

        await press("down")
        first = keyboard.shown(app)
        await press(
            "d", "escape", "b", "escape", "t", "escape", "o", "escape", "enter", "plus", "escape", "c", "escape"
        )
        return first


@pytest.mark.parametrize("seed", range(2))
async def test_the_app_walks_over_odd_records(farm: Path, true_docs: Docs, seed: int) -> None:
    odd_records.write(farm, odd_records.some(true_docs, 300 + seed, 25), now())
    first = await walk_over(farm)
    told_before = "is gone from farm.toml"  # a station that only the odd ones name takes the same place on the screen
    assert "odd and passed over" in first or told_before in first


ODD_JARS: list[dict[str, Any]] = [
    {"value": 5.8, "data": {}}, {"value": 5.8, "data": {"product": "none-such", "ml_per_l": 0.2}},
    {"value": 5.8, "data": {"product": "leaf-a", "ml_per_l": 0.2}},
    {"value": 5.8, "data": {"product": "nitric-8", "ml_per_l": -1.0}},
    {"value": 5.8, "data": {"product": "nitric-8", "ml_per_l": 1e8}},
    {"value": 5.8, "data": {"product": "nitric-8", "ml_per_l": 0.2, "water": "none-such"}},
    {"value": -900.0, "data": {"product": "nitric-8", "ml_per_l": 0.2}},
    {"value": 1e8, "data": {"product": "koh-5", "ml_per_l": 9.0}},
    {"item": "strip", "value": 900.0}, {"item": "buffer-4", "value": -900.0, "data": {"buffer": 1e8}},
]  # fmt: skip


@pytest.mark.parametrize("jar", ODD_JARS, ids=lambda jar: str(jar)[:60])
def test_an_odd_jar_test_stops_no_correction_nor_anything_else(
    farm: Path, capsys: pytest.CaptureFixture[str], jar: dict[str, Any]
) -> None:
    with History.open(farm / "history") as history:
        history.save(Draft(**{"kind": "reading", "station": "res-1", "item": "jar", "measured_at": now()} | jar))
    for verb, *rest in READING[:8]:
        said(capsys, verb, str(farm), *rest)
    assert "not saved" not in said(capsys, "enter", str(farm), "res-1", "ph 6.9 ec 1.7 t 20 dip 36")
    said(capsys, "correct", str(farm), "res-1")
