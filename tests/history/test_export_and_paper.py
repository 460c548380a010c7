"""The record as tables: out for spreadsheets, in from old paper logs."""

import csv
import io
import json
from datetime import UTC, datetime, timedelta, timezone

import pytest
from history_tools import NOON, opened, reading

from rounds.errors import BadInput
from rounds.history import paper_log
from rounds.history.export import COLUMNS, to_csv, to_json

# Openings of a cell that a spreadsheet may run: OWASP, "CSV Injection".
DANGEROUS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", '=HYPERLINK("http://x")']


@pytest.fixture
def history(tmp_path):
    with opened(tmp_path / "history") as history:
        yield history


def table(text, delimiter=","):
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    return [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]


@pytest.mark.parametrize("text", DANGEROUS)
def test_no_cell_begins_as_a_formula(history, text):
    history.save(reading(text, kind="check", note=text, typed=text, person=text, marks=(text,)))
    (row,) = table(to_csv(history.records()))
    for name in ("value", "note", "typed", "person", "marks"):
        assert not row[name].startswith(("=", "+", "-", "@", "\t", "\r", "\n")), (name, row[name])


def test_numbers_stay_numbers_and_the_decimal_mark_is_a_choice(history):
    answers = enumerate((-3.25, 12, True, None))
    history.save(*(reading(value, minutes=number, kind="check") for number, value in answers))
    assert [row["value"] for row in table(to_csv(history.records()))] == ["-3.25", "12", "yes", ""]
    assert [row["value"] for row in table(to_csv(history.records(), ","), ";")] == ["-3,25", "12", "yes", ""]
    with pytest.raises(BadInput):
        to_csv([], "·")


def test_texts_with_commas_quotes_and_lines_come_back_from_csv(history):
    note = 'say "no", then;\nleave'
    history.save(reading(note=note))
    (row,) = table(to_csv(history.records()))
    assert row["note"] == note
    assert tuple(row) == COLUMNS


def test_json_states_its_form_and_holds_every_field(history):
    (saved,) = history.save(reading(6.4, note="ü", data={"a": [1]}))
    told = json.loads(to_json(history.records()))
    assert (told["form"], told["version"]) == ("rounds-history", 1)
    (record,) = told["records"]
    assert (record["id"], record["value"], record["note"], record["data"]) == (saved.id, 6.4, "ü", {"a": [1]})
    assert datetime.fromisoformat(record["measured_at"]) == saved.measured_at


PAPER = """Day;Time;Res 1 pH;Res 1 EC;Hens;Remark
03.05.2026;07:10;6,1;1.9;alert;
04.05.2026;07:25;6,4;-;calm;wind
05.05.2026;;6,2;2,0;;
06.05.2026;07:30;6,4,2;nan;x;
07.05.2026;07:30;١٢;2e3;x;
"""
MAPPING = paper_log.Mapping(
    time=("Day", "Time"),
    time_format="%d.%m.%Y %H:%M",
    zone=timezone(timedelta(hours=2)),
    columns=(
        paper_log.Column(heading="Res 1 pH", station="res1", item="ph"),
        paper_log.Column(heading="Res 1 EC", station="res1", item="ec", unit="mS/cm"),
        paper_log.Column(heading="Hens", station="hens", item="mood", kind="check", is_text=True),
    ),
    person="Kim",
    note_heading="Remark",
    delimiter=";",
)


def test_a_paper_log_is_shown_first_and_then_taken_in(history):
    shown = paper_log.preview(history, PAPER, MAPPING)
    assert history.records() == []
    assert [(each.row, each.heading) for each in shown.refused] == [
        (4, "Day Time"), (5, "Res 1 pH"), (5, "Res 1 EC"), (6, "Res 1 pH"), (6, "Res 1 EC"),
    ]  # fmt: skip
    assert paper_log.apply(history, shown) == len(shown.drafts) == 7
    first = history.records(station="res1", item="ph")[0]
    assert (first.value, first.typed, first.person, first.marks) == (6.1, "6,1", "Kim", (paper_log.MARK,))
    assert first.measured_at == datetime(2026, 5, 3, 5, 10, tzinfo=UTC)
    assert history.records(item="ec")[0].unit == "mS/cm"
    assert history.records(item="ph")[1].note == "wind"


def test_a_paper_log_taken_in_twice_adds_nothing(history):
    paper_log.apply(history, paper_log.preview(history, PAPER, MAPPING))
    again = paper_log.preview(history, PAPER, MAPPING)
    assert (again.drafts, again.known) == ((), 7)


@pytest.mark.parametrize("text", ["", "a,b\n1,2\n", 'Day;Time;"Res 1 pH\n'])
def test_a_table_that_does_not_fit_is_refused_with_what_it_lacks(history, text):
    with pytest.raises(BadInput):
        paper_log.preview(history, text, MAPPING)


def test_a_log_is_written_down_whole_or_not_at_all(history):
    from rounds.errors import NotSaved

    shown = paper_log.preview(history, PAPER + "07.06.2026;07:30;6,4;2,0;x;\n", MAPPING)
    journal = history.folder / "bench" / "2026" / "2026-06.jsonl"
    journal.parent.mkdir(parents=True)
    journal.symlink_to(history.folder / "elsewhere")
    with pytest.raises(NotSaved, match="link"):
        paper_log.apply(history, shown)
    assert history.records() == []
    assert NOON.year == 2026 and not (history.folder / "elsewhere").exists()
