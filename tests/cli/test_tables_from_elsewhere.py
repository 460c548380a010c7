"""Paper logs and exports taken in: judged as if typed, told by their rows; nothing is believed by what is doubted."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest

from rounds.book.ledger import ledger_of
from rounds.cli import main
from rounds.history.export import to_csv
from rounds.history.record import DOUBTED, Draft, Record
from rounds.history.store import History
from rounds.walk.fresh import readings_of
from rounds.walk.session import Session

Say = Callable[..., tuple[int, str]]
HEAD = 'time = ["Date"]\ntime_format = "%Y-%m-%d %H:%M"\n'


def column(heading: str, station: str = "res-1", item: str = "ph", **more: str) -> str:
    rest = "".join(f"{key} = {json.dumps(value)}\n" for key, value in more.items())
    return f'[[columns]]\nheading = "{heading}"\nstation = "{station}"\nitem = "{item}"\n{rest}'


@pytest.fixture
def take(farm_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Say:
    """Take a table in; give exit code and what was said."""

    def run(table: str | None, mapping: str | None, *words: str) -> tuple[int, str]:
        if table is not None:
            (tmp_path / "t.csv").write_text(table, encoding="utf-8", newline="")
        rest = []
        if mapping is not None:
            (tmp_path / "m.toml").write_text(mapping, encoding="utf-8")
            rest = ["--mapping", str(tmp_path / "m.toml")]
        capsys.readouterr()
        code = main(["history", str(farm_folder), "--import", str(tmp_path / "t.csv"), *rest, *words])
        both = capsys.readouterr()
        return code, both.out + both.err

    return run


def records(folder: Path, **asked: Any) -> list[Record]:
    with History.open(folder / "history", read_only=True) as history:
        return history.records(**asked)


def days_ago(days: float, value: str) -> str:
    return f"{datetime.now(UTC) - timedelta(days=days):%Y-%m-%d %H:%M},{value}\n"


IMPOSSIBLE = [
    ("ph", "61", "61 cannot be a reading"), ("ec", "1450", "1450 mS/cm cannot be a reading"), ("t", "200", "cannot be"),
    ("dip", "90", "cannot be dipped to 90 cm"), ("ph", "six", "is not a number"), ("ph", "9" * 500, "is not a number"),
    ("ph", "nan", "is not a number"), ("ph", "-1", "cannot be a reading"), ("pump", "maybe", "neither yes nor no"),
]  # fmt: skip


@pytest.mark.parametrize(("item", "cell", "why"), IMPOSSIBLE, ids=lambda each: each[:12])
def test_what_typing_refuses_a_table_does_not_bring_in(
    take: Say, farm_folder: Path, item: str, cell: str, why: str
) -> None:
    kind = "check" if item == "pump" else "reading"
    table = f"Date,x,y\n{days_ago(3, f'{cell},6.0')}{days_ago(2, ',6.1')}"
    code, told = take(table, HEAD + column("x", item=item, kind=kind) + column("y"), "--yes")
    assert code == 1
    assert "1 cells are refused" in told and "row 2, x" in told and why in told
    assert [r.value for r in records(farm_folder)] == [6.0, 6.1]


def test_a_reading_of_the_future_is_refused(take: Say, farm_folder: Path) -> None:
    code, told = take(
        f"Date,x\n2030-01-01 07:00,6.1\n{days_ago(-0.1, '6.2')}{days_ago(1, '6.0')}", HEAD + column("x"), "--yes"
    )
    assert code == 1 and "2030-01-01 07:00 has not come yet" in told and "2 cells are refused" in told
    assert [r.value for r in records(farm_folder)] == [6.0]


def test_a_unit_is_turned_into_the_usual_one(take: Say, farm_folder: Path) -> None:
    mapping = HEAD + column("x", item="ec", unit="uS/cm") + column("t", item="t", unit="°F")
    assert take(f"Date,x,t\n{days_ago(2, '1450,68')}", mapping, "--yes")[0] == 0
    found = {r.item: (r.value, r.unit, r.typed) for r in records(farm_folder)}
    assert found == {"ec": (1.45, "mS/cm", "1450"), "t": (20.0, "°C", "68")}


MAPPINGS = [
    (HEAD + column("x", station="resvoir"), "There is no station “resvoir”"),
    (HEAD + column("x", item="pH"), "Reservoir one has no item “pH”"),
    (HEAD + column("x", station=""), "The farm as a whole has no item “ph”"),
    (HEAD + column("x", unit="furlong"), "furlong"),
    (HEAD + column("x", item="ec", unit="cm"), "not a unit of the kind"),
    (HEAD + column("x", kind="moon"), "no record of the kind “moon”"),
    (HEAD + column("x", untis="cm"), "did you mean unit?"),
    (HEAD + 'delimeter = ";"\n' + column("x"), "did you mean delimiter?"),
    (HEAD + 'zone = "UTC"\n' + column("x"), "zone: no such key"),
    (HEAD + 'delimiter = ";;"\n' + column("x"), "delimiter"), (HEAD + 'delimiter = "\\n"\n' + column("x"), "delimiter"),
    (HEAD.replace("%Y-%m-%d %H:%M", "%d %d") + column("x"), "time_format has a part twice"),
    (HEAD.replace("%Y-%m-%d %H:%M", "%Q") + column("x"), "time_format cannot be read"),
    (HEAD + f"person = {'9' * 4400}\n" + column("x"), "too long"),
    (HEAD + f"person = {'9' * 30}\n" + column("x"), "person"),
    ("time = 5\n", "time"), ("x.a" + ".a" * 12_000 + " = 1", "dots"),
    ('columns = "no"\n', "columns"), ("columns = [5]\n", "columns"),
    ("a = 1,5", "a = 1,5"[:1]), (HEAD + column("nothing"), "no column nothing"),
]  # fmt: skip


@pytest.mark.parametrize(("mapping", "why"), MAPPINGS, ids=lambda each: each[-40:])
def test_a_mapping_that_is_odd_is_named_with_what_is_odd_in_it(
    take: Say, farm_folder: Path, mapping: str, why: str
) -> None:
    code, told = take(f"Date,x\n{days_ago(2, '6.1')}", mapping, "--yes")
    assert code == 1 and why in told, told
    assert len(told) < 1500
    assert records(farm_folder) == []


TABLES = ["", "Date\n", "Date,x\n0001-01-01 00:00,6.1\n", "Date,x\n9999-12-31 23:59,6.1\n",
          "Date,x\n1969-12-31 10:00,6\n",
          'Date,"x\n', "Date,x,x\n2026-01-01 07:00,6,7\n", "Date,x\n\0,6\n", "Date;x\n2026-01-01 07:00;6,1\n",
          "x" * 200_000, "Date,x\n" + "," * 150_000, "Date,x\n2026-02-30 07:00,6.1\n"]  # fmt: skip


@pytest.mark.parametrize("table", TABLES, ids=lambda each: repr(each)[:30])
def test_a_table_that_is_odd_is_refused_in_a_sentence(take: Say, farm_folder: Path, table: str) -> None:
    for zone in ("UTC", "Etc/GMT-12", "Etc/GMT+12"):
        farm = farm_folder / "farm.toml"
        farm.write_text(farm.read_text(encoding="utf-8").replace('timezone = "UTC"', f'timezone = "{zone}"'), "utf-8")
        code, told = take(table, HEAD + column("x"), "--yes")
        assert (code, len(told) < 1500) == (1, True) or "0 readings are new" in told, told
    assert records(farm_folder) == []


def test_a_table_that_is_no_file_is_refused(take: Say, farm_folder: Path, tmp_path: Path) -> None:
    (tmp_path / "t.csv").symlink_to("/dev/zero")
    code, told = take(None, HEAD + column("x"))
    assert code == 1 and "not an ordinary file" in told


def test_what_is_hard_to_believe_is_shown_and_left_out_unless_it_is_kept(take: Say, farm_folder: Path) -> None:
    main(["enter", str(farm_folder), "res-1", "ph 6.0"])
    table = "Date,x\n" + "".join(days_ago(*each) for each in ((5, "6.1"), (4, "9.6"), (3, "6.2"), (2, "6.9")))
    mapping = HEAD + column("x")
    code, told = take(table, mapping)
    assert code == 1 and "3 readings are new" in told and "1 are hard to believe and left out" in told
    assert "? row 3, x: pH 9.6 is hard to believe after 6.10 last time" in told
    assert take(table, mapping, "--yes")[0] == 1
    assert [r.value for r in records(farm_folder, item="ph")] == [6.1, 6.2, 6.9, 6.0]
    code, told = take(table, mapping, "--yes", "--keep")
    assert code == 0 and "1 written down" in told
    (kept,) = [r for r in records(farm_folder, item="ph") if r.value == 9.6]
    assert DOUBTED in kept.marks
    assert take(table, mapping, "--yes", "--keep") == (0, take(table, mapping, "--yes", "--keep")[1])
    assert len(records(farm_folder, item="ph")) == 5


def test_a_doubted_reading_moves_no_belief_and_no_expectation(take: Say, farm_folder: Path) -> None:
    main(["enter", str(farm_folder), "res-1", "ph 6.0 ec 1.7 t 20 dip 36"])
    before = Session.open(farm_folder, read_only=True)
    with before.history:
        shown = readings_of(before, "res-1")
    assert shown is not None and shown.ph == 6.0
    moment = datetime.now(UTC) - timedelta(minutes=1)
    assert take(f"Date,x\n{moment:%Y-%m-%d %H:%M},9.6\n", HEAD + column("x"), "--yes", "--keep")[0] == 0
    session = Session.open(farm_folder, read_only=True)
    with session.history as history:
        assert readings_of(session, "res-1") == shown
        from rounds.book.composition import feed_known

        reservoir, feed = session.farm.reservoir("res-1"), feed_known(session.farm, session.farm.feeds["leaf"])
        ledger = ledger_of(session.farm, reservoir, feed, history.records(), session.now())
        assert [event.value for event in ledger.events if event.what == "ph"] == [6.0]
        assert [each.value for each in history.numbers(station="res-1", item="ph")] == [6.0]


def test_what_an_earlier_version_took_in_unseen_moves_nothing_either(
    farm_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    now = datetime.now(UTC)
    with History.open(farm_folder / "history") as history:
        history.save(*(Draft(kind="reading", station="res-1", item=item, value=value, measured_at=at)
                       for item, value, at in (("ph", 6.9, now - timedelta(days=2)),
                                               ("ph", 61.0, now - timedelta(days=1)),
                                               ("ec", 1450.0, now - timedelta(days=1)),
                                               ("ph", 6.2, now + timedelta(days=1200)))))  # fmt: skip
    capsys.readouterr()
    assert main(["enter", str(farm_folder), "res-1", "ph 7.0 ec 1.7"]) == 0
    said = capsys.readouterr()
    assert "ph 7.0" in said.out and "hard to believe" not in said.out + said.err
    session = Session.open(farm_folder, read_only=True)
    with session.history as history:
        from rounds.book.composition import feed_known

        reservoir, feed = session.farm.reservoir("res-1"), feed_known(session.farm, session.farm.feeds["leaf"])
        ledger = ledger_of(session.farm, reservoir, feed, history.records(), session.now())
        assert [event.value for event in ledger.events if event.what == "ph"] == [6.9, 7.0]
        assert [event.value for event in ledger.events if event.what == "ec"] == [1.7]


def of_every_kind(now: datetime) -> list[Draft]:
    """Records of every kind, with texts that a table may stumble over."""
    texts = ['say "no", then;\nleave', "=1+1", "'tis", "''", "@x\ty", "-3", "1,5", "yes", "a\u202eb", "ü; ö, ä", "'=x"]
    drafts = [
        Draft(
            kind="note", station="hens", note=text, typed=text, person="ada", measured_at=now - timedelta(hours=2 + n)
        )
        for n, text in enumerate(texts)
    ]
    at = now - timedelta(days=1)
    drafts += [
        Draft(kind="reading", station="res-1", item="ph", value=6.25, typed="6,25", meter="pen-1",
              measured_at=at, round_id="r-1", marks=("one", "two")),
        Draft(kind="reading", station="res-1", item="jar", value=5.8, measured_at=at,
              data={"product": "nitric-8", "ml_per_l": 0.2}),
        Draft(kind="check", station="hens", item="all-well", value=True, data={"covers": ["alert"]}, measured_at=at),
        Draft(kind="check", station="res-1", item="pump", value=False, measured_at=at),
        Draft(kind="dose", station="res-1", item="leaf-a", value=300.0, unit="mL", data={"action": "concentrate_a"},
              measured_at=at),
        Draft(kind="dose", station="res-1", item="nitric-8", value=1e-07, unit="mL", data={"action": "acid"},
              measured_at=at),
        Draft(kind="stock", item="leaf-a", value=7, unit="L", measured_at=at),
        Draft(kind="skip", station="ch-1", note="no time", measured_at=at),
        Draft(kind="event", station="res-1", item="storm", value="12", measured_at=at),
        Draft(kind="event", station="res-1", item="storm", value="no", measured_at=at - timedelta(hours=1)),
        Draft(kind="round", item="morning", value="started", measured_at=at),
    ]  # fmt: skip
    return drafts


@pytest.mark.parametrize("mark", [".", ","])
def test_an_export_of_ones_own_comes_back_whole_whatever_the_decimal_mark(
    take: Say, farm_folder: Path, tmp_path: Path, mark: str
) -> None:
    (tmp_path / "old").mkdir()
    now = datetime.now(UTC).replace(microsecond=0)
    with History.open(tmp_path / "old" / "history") as history:
        saved = history.save(*of_every_kind(now))
        history.replace(saved[0].id, Draft(kind="note", station="hens", note="put right", measured_at=now))
        history.void(saved[1].id, person="ada")
        text = to_csv(history.records(replaced=True), mark)
        standing = history.records()
    code, told = take(text, None)
    assert (code, records(farm_folder)) == (0, []), told
    code, told = take(text, None, "--yes")
    assert code == 0 and f"{len(standing)} written down" in told
    back = records(farm_folder)
    own = {"id", "device", "seq", "lamport", "entered_at", "replaces", "saved_with"}

    def said(record: Record) -> dict[str, Any]:
        return {key: value for key, value in msgspec.to_builtins(record).items() if key not in own}

    assert sorted(map(str, map(said, back))) == sorted(map(str, map(said, standing)))
    assert all(type(a.value) is type(b.value) for a, b in zip(
        *(sorted(some, key=lambda r: str(said(r))) for some in (back, standing)), strict=True))  # fmt: skip


def test_an_export_is_judged_too(take: Say, farm_folder: Path, tmp_path: Path) -> None:
    now = datetime.now(UTC).replace(microsecond=0)
    with History.open(tmp_path / "old") as history:
        history.save(
            *(Draft(kind="reading", station=station, item="ph", value=value, measured_at=now - timedelta(days=days))
              for station, value, days in (("res-1", 6.0, 4), ("res-1", 9.6, 3), ("res-1", 61.0, 2), ("gone", 6.0, 1),
                                           ("res-1", 6.1, -900)))
        )  # fmt: skip
        text = to_csv(history.records())
    code, told = take(text, None, "--yes")
    assert code == 1
    assert "1 are hard to believe" in told and "3 cells are refused" in told and "There is no station “gone”" in told
    assert [r.value for r in records(farm_folder)] == [6.0]
    assert take(text.replace("6.0", "{6.0"), None)[0] == 1


def test_the_preview_counts_for_programs_too(take: Say, farm_folder: Path) -> None:
    table = f"Date,x\n{days_ago(4, '6.0')}{days_ago(3, '9.6')}{days_ago(2, '61')}"
    code, told = take(table, HEAD + column("x"), "--json")
    form = json.loads(told)
    assert (code, form["new"], form["written"]) == (1, 1, 0)
    assert [each["row"] for each in form["doubted"]] == [3] and [each["row"] for each in form["refused"]] == [4]
