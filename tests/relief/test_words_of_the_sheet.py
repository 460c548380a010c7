"""What the sheet says in so many words: dose tables, waits, days, what is normal, and how it is written as a page."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest

from rounds.book.offer import Readings, Step
from rounds.errors import BadInput, OutOfRange, Refused
from rounds.farm.model import Contact
from rounds.history.record import Draft
from rounds.relief.days import days_between
from rounds.relief.doses import cell_text, dose_section
from rounds.relief.easier import Easier, easier
from rounds.relief.forms import easier_form, easier_lines, table_form
from rounds.relief.html import as_html
from rounds.relief.model import Grid, ReliefSheet, SheetSection
from rounds.relief.sheet import Relief, moment_of, records_for_doses, relief_for, relief_sheet
from rounds.relief.table_ranges import PH_STEPS, STRONG_STEPS, WEAK_STEPS, halves, level_ranges, ranges_outside
from rounds.relief.tables import Cell, DoseTable, Row, dose_table
from rounds.relief.words import emergencies
from rounds.walk.session import Session

FIRST, LAST = date(2026, 11, 26), date(2026, 12, 2)
SIX = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
READ = Readings(at=SIX, ph=5.9, ec_ms_cm=1.2, temperature_c=18.0, dip_cm=36.0)
Open = Callable[..., Session]


def sheet_of(session: Session, last: date = LAST) -> ReliefSheet:
    """The sheet without its dose tables, which take their time."""
    return relief_sheet(session, relief_for(session, "ben", FIRST, last), tables=[])


def section(sheet: ReliefSheet, title: str) -> SheetSection:
    return next(each for each in sheet.sections if each.title.startswith(title))


def cell(*steps: tuple[str, str | None, float], call: str = "") -> Cell:
    made = tuple(Step(action=action, product=product, amount=amount) for action, product, amount in steps)
    return Cell(readings=READ, steps=made, call=call)


@pytest.mark.parametrize(
    ("made", "text"),
    [
        (cell(), "nothing"), (cell(call="why"), "call"), (cell(("circulate", None, 0.0)), "nothing"),
        (cell(("top_up", "well", 40.0), ("circulate", None, 0.0), ("concentrate_a", "leaf-a", 75.5),
              ("concentrate_b", "leaf-b", 80.0)),
         "40\u00a0L Well water, A 75.5\u00a0mL, B 80\u00a0mL"),
        (cell(("drain_off", None, 30.0), call="why"), "drain off 30\u00a0L, then call"),
        (cell(("acid", "nitric-8", 12.5)), "Working nitric acid 12.5\u00a0mL"),
        (cell(("base", "gone", 3.0)), "base 3\u00a0mL"), (cell(("top_up", "lake", 5.0)), "5\u00a0L lake"),
    ],
)  # fmt: skip
def test_a_cell_says_what_is_poured_in_its_order_and_whether_to_call(
    farm_folder: Path, opened: Open, made: Cell, text: str
) -> None:
    assert cell_text(opened(farm_folder).farm, made) == text


def table(session: Session, **parts: Any) -> DoseTable:
    three = ((36.5, 37.0), (30.5, 36.0), (25.0, 30.0))
    rows = tuple(
        Row(low=low, high=high, cells=(cell(*steps),) * 3)
        for low, high, steps in (
            (1.1, 1.24, [("concentrate_a", "leaf-a", 50.0)]),
            (1.25, 1.49, [("concentrate_a", "leaf-a", 50.0)]),
            (1.5, 1.7, []),
            (1.71, 1.9, []),
            (1.95, 2.0, []),
            (2.01, 2.2, [("top_up", "well", 20.0)]),
        )
    )
    made = {
        "reservoir": session.farm.reservoir("res-1"),
        "first": FIRST,
        "last": LAST,
        "levels_cm": three,
        "ec_rows": rows,
        "ph_rows": (),
        "products": (session.farm.shelf["leaf-a"],),
        "wait_min": 30.0,
        "holds": ("Holds.", "Waters."),
    }
    return DoseTable(**made | parts)


def test_neighbours_with_the_same_doses_are_one_row_and_others_stay_apart(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    (grid,) = dose_section(session.farm, table(session), session.farm.limits.helper).grids
    assert [row[:2] for row in grid.rows] == [
        ("1.10 to 1.49", "A 50\u00a0mL"), ("1.50 to 1.90", "nothing"), ("1.95 to 2.00", "nothing"),
        ("2.01 to 2.20", "20\u00a0L Well water"),
    ]  # fmt: skip


def test_a_level_is_told_in_centimetres_and_in_litres_below_the_mark(farm_folder: Path, opened: Open) -> None:
    """5 L to a centimetre, 180 L at the mark of 36 cm: 30.5 cm are 27.5 L below it."""
    session = opened(farm_folder)
    (grid,) = dose_section(session.farm, table(session), session.farm.limits.helper).grids
    assert grid.heads == (
        "EC, mS/cm, at a dip of", "36.5 to 37 cm\n0 to 0 L below the mark", "30.5 to 36 cm\n0 to 28 L below the mark",
        "25 to 30 cm\n30 to 55 L below the mark",
    )  # fmt: skip
    assert sum(grid.widths) == 100.0


def test_a_table_says_where_the_mark_is_how_long_to_wait_and_what_the_helpers_limits_are(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    allow(farm_folder, '"leaf-a"', step_ml=250, day_ml=600)
    session = opened(farm_folder)
    farm, made = session.farm, table(session)
    told = dose_section(farm, made, farm.limits.helper, "Prepared: x")
    assert told.lines == (
        "Holds. Waters. The mark is at 36.0 cm. After A wait 10 min, then B; wait 30 min before the next reading.",
        "Prepared: x",
    )  # fmt: skip
    assert dose_section(farm, made, farm.limits.helper).lines == told.lines[:1]
    (after,) = told.after
    assert "Never more than 250 mL of one thing in a step, 600 mL a day" in after
    assert "pH 5.6 to 6.2 is right. Outside it pour nothing" in after
    both = dose_section(farm, replace(made, ph_rows=made.ec_rows), farm.limits.helper)
    assert [grid.heads[0] for grid in both.grids] == ["EC, mS/cm, at a dip of", "pH, at a dip of"]
    assert "pH 5.6 to 6.2: nothing. Never acid" in both.after[0]
    none = dose_section(farm, Refused("No table.", "Enter it."), farm.limits.helper)
    assert none.lines == ("No table. Enter it.", "Pour nothing here. Call.")


def test_the_wait_is_three_turnovers_of_what_circulates(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    """180 L and 18 L in channels and pipes at 20 L/min: three times 9.9 min."""
    allow(farm_folder, '"nitric-8", "koh-5", "leaf-a", "leaf-b"')
    session = opened(farm_folder)
    found = dose_table(session.farm, [], "res-1", SIX, FIRST, LAST)
    assert found.wait_min == 30.0
    # 8 % of 1.043 kg/L is 1.32 mol/L of nitric acid, 5 % of 1.044 kg/L 0.93 mol/L of potash lye.
    assert found.holds[1] == (
        "Waters: Well water. Products: Working nitric acid (1.32 mol/L), Working potash lye (0.93 mol/L), Leaf A, "
        "Leaf B."
    )
    assert [row.low for row in found.ph_rows] == [4.9, 5.2, 5.4, 6.21, 6.41, 6.61]
    nearest = [{c.readings.ph for c in row.cells} for row in found.ph_rows]
    assert nearest == [{5.19}, {5.39}, {5.59}, {6.21}, {6.41}, {6.61}], "where the least is poured"
    assert {c.readings.dip_cm for row in found.ph_rows for c in row.cells} == {full for _, full in found.levels_cm}
    assert {(c.readings.ec_ms_cm, c.readings.temperature_c) for r in found.ph_rows for c in r.cells} == {(1.7, 18.0)}
    assert {round(c.readings.ph or 0.0, 6) for row in found.ec_rows for c in row.cells} == {5.9}
    assert [(row.low, row.high) for row in found.ec_rows] == [
        (1.1, 1.24), (1.25, 1.37), (1.38, 1.49), (1.5, 1.7), (1.71, 1.9),
    ], "stronger feed is thinned with hard water, whose acid hangs on a reading: only calls, left out"  # fmt: skip
    form = table_form(found)
    assert (form["reservoir"], form["from"], form["to"]) == ("res-1", "2026-11-26", "2026-12-02")
    assert form["products"] == ["nitric-8", "koh-5", "leaf-a", "leaf-b"]
    assert form["ec_rows"][0]["low"] == 1.1
    assert form["ec_rows"][0]["cells"][0]["readings"]["ec_ms_cm"] == 1.24
    assert len(form["levels_cm"]) == 3


def test_rows_at_the_ends_that_only_say_to_call_are_left_out(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    """With A alone nothing may be fed: below the band nothing is left."""
    allow(farm_folder, '"leaf-a"')
    found = dose_table(opened(farm_folder).farm, [], "res-1", SIX, FIRST, LAST)
    assert found.ec_rows[0].low == 1.5 and found.ph_rows == ()
    for row in (found.ec_rows[0], found.ec_rows[-1]):
        assert any(not cell.call for cell in row.cells)


@pytest.mark.parametrize(("pump_l_min", "wait_min"), [(20.0, 30.0), (200.0, 5.0)])
def test_where_only_water_may_be_poured_the_wait_is_the_same(
    farm_folder: Path, opened: Open, pump_l_min: float, wait_min: float
) -> None:
    farm = opened(farm_folder).farm
    pumped = msgspec.structs.replace(farm.reservoir("res-1"), pump_l_min=pump_l_min)
    farm = replace(farm, stations={**farm.stations, "res-1": pumped})
    found = dose_table(farm, [], "res-1", SIX, FIRST, LAST)
    assert found.wait_min == wait_min
    strong = [row.cells for row in found.ec_rows if row.low > 1.9]
    ends = [(cell, fullest) for cells in strong for cell, (_, fullest) in zip(cells, found.levels_cm, strict=True)]
    assert any(cell.poured and cell.readings.dip_cm == fullest for cell, fullest in ends), "where it takes less water"


def test_a_band_is_halved_and_its_outsides_are_cut_where_the_water_has_nothing_left() -> None:
    assert halves((1.0, 2.0)) == [(1.0, 1.5, True), (1.51, 2.0, True)]
    assert ranges_outside((0.2, 0.4), (0.0, 0.1, 0.2, 0.3), (0.0, 0.1)) == [(0.1, 0.19, True), (0.41, 0.5, False)]


def test_the_ranges_of_a_table_by_hand(farm_folder: Path, opened: Open) -> None:
    """180 L stand 36 cm high, 5 L to a centimetre: 93, 82 and 68 % of them 33.5, 29.5 and 24.5 cm."""
    assert level_ranges(opened(farm_folder).farm.reservoir("res-1")) == ((34.0, 37.0), (30.0, 33.5), (25.0, 29.5))
    assert ranges_outside((5.6, 6.2), PH_STEPS, PH_STEPS) == [
        (4.9, 5.19, True), (5.2, 5.39, True), (5.4, 5.59, True), (6.21, 6.4, False), (6.41, 6.6, False),
        (6.61, 6.9, False),
    ]  # fmt: skip
    assert ranges_outside((1.5, 1.9), WEAK_STEPS, STRONG_STEPS) == [
        (1.1, 1.24, True), (1.25, 1.37, True), (1.38, 1.49, True), (1.91, 2.05, False), (2.06, 2.2, False),
    ]  # fmt: skip


@pytest.mark.parametrize(("last", "count"), [("2026-11-26", 1), ("2026-12-26", 31)])
def test_a_sheet_is_for_a_day_up_to_a_month(last: str, count: int) -> None:
    assert len(days_between(FIRST, date.fromisoformat(last))) == count
    with pytest.raises(OutOfRange, match="32 days is too long"):
        days_between(FIRST, date(2026, 12, 27))
    with pytest.raises(BadInput, match="wrong way round"):
        days_between(FIRST, FIRST - timedelta(days=1))


def test_a_sheet_is_made_at_most_three_months_ahead_and_for_somebody_by_name_or_id(
    farm_folder: Path, opened: Open
) -> None:
    session = opened(farm_folder)
    assert (
        relief_for(session, "BEN", SIX.date() + timedelta(days=92), SIX.date() + timedelta(days=92)).person.id == "ben"
    )
    with pytest.raises(OutOfRange, match="too far ahead"):
        relief_for(session, "ben", SIX.date() + timedelta(days=93), SIX.date() + timedelta(days=93))


def test_tables_are_worked_out_for_the_first_morning_or_for_now(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    assert moment_of(session, FIRST) == datetime(2026, 11, 26, 7, 0, tzinfo=UTC)
    assert moment_of(opened(farm_folder, at=SIX.replace(hour=9)), SIX.date()) == SIX.replace(hour=9)


@pytest.mark.parametrize(
    ("counted", "days", "kept"), [("2026-11-01", 60, 1), ("2026-11-01", 61, 0), ("2026-08-01", 100, 1)]
)
def test_doses_look_back_two_months_or_to_the_last_count_of_the_shelf(
    farm_folder: Path, opened: Open, counted: str, days: int, kept: int
) -> None:
    shelf = (farm_folder / "shelf.toml").read_text("utf-8").replace("2026-11-01", counted)
    (farm_folder / "shelf.toml").write_text(shelf, "utf-8")
    session = opened(farm_folder)
    session.save(Draft(kind="note", note="x", measured_at=SIX - timedelta(days=days)))
    assert len(records_for_doses(session)) == kept


def test_emergencies_name_the_places_of_the_farm_and_say_nothing_of_those_it_does_not_name() -> None:
    places = ("isolators", "eyewash", "first_aid", "spare_pump", "generator", "water")
    told = " ".join(text for _, text in emergencies({place: f"at the {place} door" for place in places}))
    for name, place in zip(
        ("Isolators", "Eyewash", "First aid", "Spare pump", "Generator", "Water"), places, strict=True
    ):
        assert f"{name}: at the {place} door" in told
    assert ": at" not in " ".join(text for _, text in emergencies({}))


def test_the_sheet_names_whom_to_call_where_things_are_and_what_may_be_poured(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    session = opened(farm_folder)
    bare = sheet_of(session)
    assert section(bare, "Where things are").grids[0].rows[0][0] == "Nothing is entered"
    assert "Yours to pour: nothing but water." in section(bare, "What you must not do").after[0]
    assert bare.title == "Test farm: relief sheet for Ben"
    assert bare.subtitle.startswith("Thu 26 Nov to Wed 2 Dec 2026 · made 25 Nov 2026 06:00 · ")
    assert bare.foot == "Test farm · Ben · Thu 26 Nov to Wed 2 Dec 2026"
    allow(farm_folder, '"leaf-a", "old-b"', step_ml=40, day_ml=90)
    session = opened(farm_folder)
    farm = replace(
        session.farm,
        contacts=(Contact(name="Ada", what="all", phone="555 1"),),
        where={"spare_pump": "shed", "hen_feed": "loft"},
    )
    full = sheet_of(replace(session, filed=farm))
    assert section(full, "Call, in this order").grids[0].rows == (("Ada", "all", "555 1"),)
    assert section(full, "Where things are").grids[0].rows == (("Spare pump", "shed"), ("Hen feed", "loft"))
    told = section(full, "What you must not do").after[0]
    assert "Yours to pour: Leaf A, old-b. At most 40 mL of one thing in one step, 90 mL in a day" in told
    notes = section(full, "Poured and noticed").grids[0]
    assert (len(notes.rows), notes.tall) == (4, True)
    order = [each.title for each in full.sections]
    assert order.index("Call, in this order") == 0
    assert section(full, "Call, in this order").grids[0].large, "to be read in a hurry"
    for title in ("First on every round", "What you must not do", "Cautions in full"):
        assert section(full, title).two_columns


OWN = """format = 1
kind = "hens"
title = "Hens"
rank = 90
[[items]]
id = "weight"
type = "reading"
label = "Weight"
unit = "g"
names = ["weight"]
limits = [0, 9000]
[[items]]
id = "mood"
type = "choice"
label = "Mood"
choices = ["calm", "loud", "dull"]
well = ["calm", "loud"]
[[items]]
id = "water"
type = "yes_no"
label = "Water clean"
well = true
[[items]]
id = "blood"
type = "yes_no"
label = "Blood"
well = false
[[items]]
id = "fed"
type = "yes_no"
label = "Fed"
well = true
how = "Ration in the trough."
[[items]]
id = "lame"
type = "yes_no"
label = "Lame"
well = false
how = "all walk"
off = "Apart, and call."
[[items]]
id = "dead"
type = "count"
label = "Dead"
well = 0
[[items]]
id = "broken"
type = "count"
label = "Broken eggs"
well = 2
[[items]]
id = "word"
type = "note"
label = "A *word* **or** two"
"""


def test_what_is_normal_is_said_for_each_sort_of_check(farm_folder: Path, opened: Open) -> None:
    (farm_folder / "checklists").mkdir()
    (farm_folder / "checklists" / "hens.toml").write_text(OWN, "utf-8")
    session = opened(farm_folder)
    assert not session.mistakes
    grid = next(g for g in section(sheet_of(session), "What is normal").grids if g.heads[0] == "Hens")
    assert [cell for column in zip(*grid.rows, strict=True) for cell in column] == [
        "**Weight** As in the last days; see the band on the walk. **IF NOT:** Write it down, and call.",
        "**1. Mood** calm, loud. **IF NOT:** Write it down, and call.",
        "**2. Water clean** yes. **IF NOT:** Write it down, and call.",
        "**3. Blood** no. **IF NOT:** Write it down, and call.",
        "**4. Fed** Ration in the trough. **IF NOT:** Write it down, and call.",
        "**5. Lame** not so; all walk. **IF NOT:** Apart, and call.",
        "**6. Dead** none. **IF NOT:** Write it down, and call.",
        "**7. Broken eggs** at most 2. **IF NOT:** Write it down, and call.",
        "**8. A *word* *or* two** a note: write it down. **IF NOT:** Write it down, and call.",
        "",
    ]
    assert (grid.bold_marks, grid.widths) == (True, (50, 50))
    hens = next(
        row for s in sheet_of(session).sections if s.title == "The walk: morning" for g in s.grids for row in g.rows
        if row[0].startswith("Hen house")
    )  # fmt: skip
    assert hens[0] == "Hen house; weight g"
    assert hens[1:] == ("1 2 3 4 5 6 7 8\nweight:",) * 7


def test_the_walk_on_paper_has_a_row_for_each_station_and_ticks_for_what_must_be_alive(
    farm_folder: Path, opened: Open
) -> None:
    session = opened(farm_folder)
    strainer = Draft(kind="check", station="res-1", item="strainer", value=True, measured_at=SIX)
    session.save(strainer)
    walk = section(sheet_of(session), "The walk: morning")
    assert walk.new_page
    assert walk.grids[0].heads == ("", "Thu 26", "Fri 27", "Sat 28", "Sun 29", "Mon 30", "Tue 1", "Wed 2")
    first = walk.grids[0].rows[0]
    assert first == ("First: alive and running?", *["[   ]"] * 7)
    headed = next(grid for grid in walk.grids if grid.headed and grid.rows[0][0] == "Reservoir one")
    assert headed.tall
    names = [row[0] for row in headed.rows]
    assert names[-2:] == ["checks", "poured: water L / A mL / B mL"]
    items = [item.id for item in session.items(session.farm.station("res-1")) if item.type != "reading"]
    number = str(items.index("strainer") + 1)
    on = [number in cells.split() for cells in headed.rows[-2][1:]]
    assert on == [False] * 6 + [True], "cleaned on the 25th, due each week"
    assert headed.rows[1][1:] == ("",) * 7
    assert any("Channel two (SICK: last, wash hands)" in row[0] for grid in walk.grids for row in grid.rows)
    dusk = section(sheet_of(session), "The walk: dusk")
    assert not dusk.new_page
    assert not any(grid.tall or grid.headed for grid in dusk.grids)
    one_day = section(sheet_of(session, FIRST), "The walk: morning")
    assert {len(grid.widths) for grid in one_day.grids} == {2}
    assert one_day.title == "The walk: morning"


def test_stations_with_the_same_checks_share_a_row_at_dusk(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    checklists = {kind: session.checklists.of(kind) for kind in ("channel",)}
    assert checklists["channel"] is not None
    dusk = {row[0]: row[1:] for grid in section(sheet_of(session), "The walk").grids for row in grid.rows}
    assert dusk
    for title in ("midday", "dusk"):
        rows = [
            row
            for s in sheet_of(session).sections
            if s.title == f"The walk: {title}"
            for g in s.grids
            for row in g.rows
        ]
        alone = [row for row in rows if not any(":" in cell for cell in row[1:])]
        assert len({row[1:] for row in alone}) == len(alone)
        assert all(len(row) == 8 for row in rows)


def test_a_page_shows_tables_by_their_kind_and_marks_only_where_they_are_meant() -> None:
    grid = Grid(heads=("a\nb", "c"), rows=(("**one** <b>", "two"), ("three", "four")), widths=(30, 70), bold_marks=True)
    other = replace(grid, bold_marks=False, headed=True, heads=(), large=True, tall=True)
    first = SheetSection(title="A & B", lines=("line",), grids=(grid, other), after=("after",), new_page=True)
    sections = (first, SheetSection(title="C"))
    page = as_html(ReliefSheet(title="T", subtitle="S", foot="F", sections=sections))
    assert '<section class="new"><h2>A &amp; B</h2><ul><li>line</li></ul><table class=""><colgroup>' in page
    assert (
        '<col style="width:30.0%"><col style="width:70.0%"></colgroup><thead><tr><th>a<br>b</th><th>c</th></tr></thead>'
        in page
    )
    assert "<tr><td><b>one</b> &lt;b&gt;</td><td>two</td></tr>" in page
    assert '<table class="large tall"><colgroup>' in page
    assert '<tbody><tr><th colspan="2">**one** &lt;b&gt;</th></tr><tr><td>three</td><td>four</td></tr></tbody>' in page
    assert '<p class="after">after</p></section>' in page
    assert "<section><h2>C</h2></section>" in page
    assert html.unescape(re.sub("<[^>]*>", "", page)).endswith("F\n")


def test_what_makes_it_easier_is_told_in_lines_and_as_numbers(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    (plan,) = easier(session, Relief(person=session.farm.people[1], days=days_between(FIRST, LAST)))
    assert plan.bottles is None, "the helper may pour neither A nor B"
    lines = easier_lines(plan)
    assert lines[0] == "Reservoir one"
    assert lines[1 : 1 + len(plan.said)] == [f"· {text}" for text in plan.said]
    sheets = [each for each in (plan.tank, plan.change_out) if each]
    assert lines[1 + len(plan.said) :] == [line for each in sheets for line in ("", *each.as_lines())]
    form = easier_form(plan)
    assert form["top_up"] == (plan.tank.to_json() if plan.tank else None)
    assert form["change_out"] == (plan.change_out.to_json() if plan.change_out else None)
    assert (form["bottles"], form["said"]) == (None, list(plan.said))


@pytest.mark.parametrize(("products", "there"), [('"leaf-a", "leaf-b"', True), ('"leaf-a"', False)])
def test_bottles_are_prepared_where_the_helper_may_pour_both_halves(
    farm_folder: Path, opened: Open, allow: Callable[..., None], products: str, there: bool
) -> None:
    allow(farm_folder, products, step_ml=60, day_ml=600)
    session = opened(farm_folder)
    (plan,) = easier(session, relief_for(session, "ben", FIRST, LAST))
    assert (plan.bottles is not None) is there
    assert any(line.startswith("· Bottles: ") for line in easier_lines(plan)) is there
    if plan.bottles is not None:
        assert 0.0 < plan.bottles.a_ml <= 60.0
        made = easier_form(plan)["bottles"]
        assert made == {
            "pairs": plan.bottles.pairs, "a_ml": plan.bottles.a_ml, "b_ml": plan.bottles.b_ml,
            "text": plan.bottles.text,
        }  # fmt: skip
    whole = relief_sheet(session, relief_for(session, "ben", FIRST, LAST))
    order = [each.title for each in whole.sections]
    assert order.index("Doses: how to read the tables") + 1 == order.index("Doses: Reservoir one")
    told = " ".join(section(whole, "Doses: Reservoir one").lines)
    assert ("numbered pairs of bottles" in told) is there
    assert isinstance(plan, Easier)
