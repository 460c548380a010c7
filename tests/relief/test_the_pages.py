"""How the sheet lies on its pages, read back from the PDF place by place; and the heights worked out before."""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import pairwise, product
from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from rounds.errors import BadInput
from rounds.relief.model import Grid, ReliefSheet, SheetSection
from rounds.relief.pdf import as_pdf
from rounds.relief.printable import in_latin_1
from rounds.relief.room_on_paper import RoomOnPaper, in_left_column, kept_together

MADE = datetime(2026, 11, 25, 6, 30, tzinfo=UTC)
A4_MM = (210.0, 297.0)
PT_MM = 25.4 / 72
MARGIN_MM = 10.0
NORMAL_MM = 9 * PT_MM * 1.16
"""A line of letters of 9 points."""
LARGE_MM = 13 * PT_MM * 1.16
NUMBERS = r"(-?[\d.]+) (-?[\d.]+)"


@dataclass(frozen=True)
class Text:
    """A piece of text where it stands, from the upper left corner of the page. [mm]"""

    text: str
    x: float
    y: float
    size: float
    bold: bool


@dataclass(frozen=True)
class Page:
    texts: tuple[Text, ...]
    foot: tuple[Text, ...]
    boxes: tuple[tuple[float, float, float, float], ...]
    """Left, top, width, height of the cells of tables. [mm]"""
    rules: tuple[tuple[float, float, float], ...]
    """From, to, height. [mm]"""

    def of(self, text: str) -> Text:
        return next(each for each in self.texts if each.text == text)

    def has(self, text: str) -> bool:
        return any(each.text == text for each in self.texts)


def pages(*sections: SheetSection, title: str = "Title", font: Path | None = None) -> list[Page]:
    sheet = ReliefSheet(title=title, subtitle="subtitle", foot="foot", sections=sections)
    pdf = as_pdf(sheet, MADE, font)
    found = []
    for raw in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL):
        try:
            found.append(zlib.decompress(raw).decode("latin-1"))
        except zlib.error:
            continue
    return [page(each) for each in found if "BT" in each]


def page(content: str) -> Page:
    texts, boxes, rules, style = list[Text](), list[tuple[float, ...]](), list[tuple[float, ...]](), (0.0, False)
    for line in content.splitlines():
        x = y = 0.0
        for at in re.finditer(rf"/F(\d+) ([\d.]+) Tf|{NUMBERS} Td|\(((?:\\.|[^\\()])*)\) Tj", line):
            if at[1]:
                style = float(at[2]), at[1] == "1"  # the title, in bold, is what is written first
            elif at[3]:
                x, y = float(at[3]) * PT_MM, A4_MM[1] - float(at[4]) * PT_MM
            else:
                texts.append(Text(re.sub(r"\\(.)", r"\1", at[5]).strip(), x, y, *style))
        for at in re.finditer(rf"{NUMBERS} {NUMBERS} re S", line):
            x, y, w, h = (float(n) * PT_MM for n in at.groups())
            boxes.append((x, A4_MM[1] - y - h, w, h))
        for at in re.finditer(rf"{NUMBERS} m {NUMBERS} l S", line):
            x, y, to, _ = (float(n) * PT_MM for n in at.groups())
            rules.append((x, to, A4_MM[1] - y))
    written = [each for each in texts if each.y < A4_MM[1] - MARGIN_MM]
    return Page(tuple(written), tuple(texts[len(written) :]), tuple(boxes), tuple(rules))  # type: ignore[arg-type]


def grid(count: int, **more: object) -> Grid:
    made = Grid(heads=("what", "how"), rows=tuple((f"row {n}", "x") for n in range(1, count + 1)), widths=(30, 70))
    return replace(made, **more)  # type: ignore[arg-type]


def lines(count: int) -> SheetSection:
    return SheetSection(title="Above", lines=tuple(f"line {n}" for n in range(1, count + 1)))


def test_a_page_has_margins_of_a_centimetre_and_its_foot_within_the_lower_one() -> None:
    made = pages(lines(3), SheetSection(title="B", grids=(grid(5),), new_page=True))
    assert len(made) == 2
    for number, found in enumerate(made, 1):
        foot, written = found.foot[0], found.texts
        assert (" ".join(each.text for each in found.foot), foot.size) == (f"foot · page {number} of 2", 8.0)
        assert A4_MM[1] - MARGIN_MM + 2.0 < foot.y < A4_MM[1] - 5.0, "printers do not reach the last 5 mm"
        assert foot.x + 10.0 < A4_MM[0] / 2 < foot.x + 30.0, "in the middle"
        assert all(MARGIN_MM < each.x < A4_MM[0] - MARGIN_MM for each in written)
        assert MARGIN_MM + 3.0 < min(each.y for each in written) < MARGIN_MM + 9.0
        assert {(round(left, 1), round(right, 1)) for left, right, _ in found.rules} == {(10.0, 200.0)}


def test_title_heads_and_text_differ_in_size_and_a_rule_stands_below_each_head() -> None:
    (found,) = pages(lines(2))
    assert [(each.text, each.size, each.bold) for each in found.texts] == [
        ("Title", 17.0, True), ("subtitle", 9.0, False), ("Above", 12.5, True), ("line 1", 9.0, False),
        ("line 2", 9.0, False),
    ]  # fmt: skip
    title, subtitle, head, one, two = (each.y for each in found.texts)
    assert two - one == pytest.approx(NORMAL_MM, abs=0.01)
    first, second = (height for _, _, height in found.rules)
    assert title < first < subtitle < head < second < one
    # Above a line of text: half its height, and three tenths of its letters, to their foot.
    for rule, below in ((first, subtitle), (second, one)):
        assert below - rule == pytest.approx(1.0 + NORMAL_MM / 2 + 0.3 * 9 * PT_MM, abs=0.05)
    assert head - subtitle == pytest.approx(
        2 * 1.0 + NORMAL_MM / 2 - 0.3 * 9 * PT_MM + 0.8 * 12.5 * PT_MM * 1.1, abs=0.3
    )


def test_the_file_says_what_it_is_when_it_was_made_and_in_which_language() -> None:
    sheet = ReliefSheet(title="Title", subtitle="", foot="Farm · Ben", sections=())
    pdf = as_pdf(sheet, MADE)
    assert b"D:20261125063000" in pdf
    assert b"/Lang (en)" in pdf
    assert b"/Title <feff" + "Farm · Ben".encode("utf-16-be").hex().encode() in pdf


@pytest.mark.parametrize(("count", "first"), [(1, "line 1"), (3, "line 1"), (4, "- line 1")])
def test_a_list_of_four_lines_has_bullets_and_fewer_lines_have_none(count: int, first: str) -> None:
    (found,) = pages(lines(count))
    assert found.has(first)


def test_two_columns_begin_side_by_side_and_are_of_about_the_same_length() -> None:
    (found,) = pages(replace(lines(5), two_columns=True, after=("after",)), lines(1))
    left, right = (
        [t for t in found.texts if t.text.startswith("- ") and (t.x < 100.0) is here] for here in (True, False)
    )
    assert [each.text for each in left] == ["- line 1", "- line 2", "- line 3"]
    assert [each.text for each in right] == ["- line 4", "- line 5"]
    assert left[0].y == right[0].y
    assert left[1].y - left[0].y == pytest.approx(NORMAL_MM, abs=0.01)
    assert right[0].x - left[0].x == pytest.approx(95.0, abs=0.01), "half of what is between the margins"
    assert not any(each.bold for each in (*left, *right))
    after = found.of("after")
    assert after.bold
    assert after.y - left[-1].y == pytest.approx(NORMAL_MM, abs=1.3)
    assert not found.boxes


def test_cells_of_a_table_have_lines_around_them_and_the_shares_of_the_width_that_were_asked_for() -> None:
    (found,) = pages(SheetSection(title="A", grids=(grid(2),)))
    assert len(found.boxes) == 6
    for left, _, width, height in found.boxes:
        assert (left, width) in [(pytest.approx(10.0, abs=0.01), pytest.approx(57.0, abs=0.01)),
                                 (pytest.approx(67.0, abs=0.01), pytest.approx(133.0, abs=0.01))]  # fmt: skip
        assert height == pytest.approx(NORMAL_MM + 0.5, abs=0.01)
    assert found.of("row 1").x - 10.0 == pytest.approx(0.8, abs=0.01)
    assert [each.text for each in found.texts if each.bold] == ["Title", "A", "what", "how"]


def test_a_table_without_heads_has_bold_names_in_its_first_column() -> None:
    (found,) = pages(SheetSection(title="A", grids=(grid(2, heads=()),)))
    assert [each.text for each in found.texts if each.bold] == ["Title", "A", "row 1", "row 2"]


def test_a_group_has_its_name_across_all_columns() -> None:
    (found,) = pages(SheetSection(title="A", grids=(grid(3, headed=True),)))
    assert [each.text for each in found.texts if each.bold] == ["Title", "A", "what", "how", "row 1"]
    assert sorted(round(width) for _, _, width, _ in found.boxes) == [57, 57, 57, 133, 133, 133, 190]


def test_what_is_read_in_a_hurry_is_large_and_what_is_written_in_is_tall() -> None:
    large, tall = (pages(SheetSection(title="A", grids=(grid(2, **{kind: True}),)))[0] for kind in ("large", "tall"))
    assert large.of("row 1").size == 13.0
    assert {round(height, 2) for *_, height in large.boxes} == {round(LARGE_MM + 0.5, 2)}
    assert tall.of("row 1").size == 9.0
    assert {round(height, 2) for *_, height in tall.boxes} == {6.0}


def test_stars_mark_what_is_bold_only_where_a_table_says_so() -> None:
    for marks, told in ((True, "star"), (False, "**star**")):
        (found,) = pages(SheetSection(title="A", grids=(grid(1, rows=(("**star** x", "y"),), bold_marks=marks),)))
        assert any(each.text.startswith(told) and each.bold is marks for each in found.texts)


def test_tables_with_the_same_heads_are_one_with_its_heads_said_once_and_others_stand_apart() -> None:
    (found,) = pages(SheetSection(title="A", grids=(grid(1), grid(1), grid(1, heads=("who", "how")))))
    assert [each.text for each in found.texts if each.x < 20.0][3:] == ["what", "row 1", "row 1", "who", "row 1"]
    tops = sorted({top for _, top, _, _ in found.boxes})
    gaps = [below - above for above, below in pairwise(tops)]
    row = NORMAL_MM + 0.5
    assert gaps == [pytest.approx(each, abs=0.02) for each in (row, row, row + 1.0, row)]


@pytest.mark.parametrize(
    ("rows", "parts"),
    [(1, [1]), (2, [2]), (4, [4]), (5, [3, 2]), (6, [3, 3]), (7, [3, 4]), (8, [3, 3, 2]), (10, [3, 3, 4])],
)
def test_rows_of_a_table_stay_together_by_threes_and_none_is_left_alone(rows: int, parts: list[int]) -> None:
    whole = grid(rows)
    found = list(kept_together(whole))
    assert [len(each.rows) for each in found] == parts
    assert [row for each in found for row in each.rows] == list(whole.rows)
    assert list(kept_together(replace(whole, headed=True))) == [replace(whole, headed=True)]


@pytest.mark.parametrize(
    ("heights", "left"),
    [([1, 1], 1), ([1, 1, 1], 2), ([1, 1, 1, 1], 2), ([3, 1, 1, 1], 1), ([1, 1, 1, 3], 3), ([1, 1, 2], 2), ([5], 1)],
)
def test_the_left_of_two_columns_takes_the_fewest_lines_that_reach_half(heights: list[float], left: int) -> None:
    assert in_left_column(heights) == left


def letters(word: str, size: float, style: str) -> float:
    """A font in which each letter is as wide as a tenth of its size, bold ones twice as wide."""
    return len(word) * size / 10.0 * (2 if style == "B" else 1)


@pytest.mark.parametrize(
    ("text", "wide", "count"),
    [("", 9.0, 1), ("aaaa", 4.0, 1), ("aa bb", 5.0, 1), ("aa bb", 4.9, 2), ("aa bb cc", 5.0, 2), ("aa\nbb", 9.0, 2),
     ("aa bb cc dd", 5.0, 2), ("a b\nc", 2.0, 3), ("aaaaaaaaa b", 5.0, 2)],
)  # fmt: skip
def test_lines_are_counted_as_the_printer_breaks_them(text: str, wide: float, count: int) -> None:
    room = RoomOnPaper(letters, 190.0)
    assert room.text((text,), 10.0, "", wide) == pytest.approx(count * 10 * 0.3528 * 1.16)
    assert room.text((text, text), 10.0, "", wide) == pytest.approx(2 * count * 10 * 0.3528 * 1.16)


def test_a_row_is_as_high_as_its_highest_cell_and_the_heads_are_counted_where_they_are_said() -> None:
    # A column of 28.7 % of 100 mm is 27.1 mm wide inside; bold letters of 9 points are 1.8 mm here: 15 to a line.
    room = RoomOnPaper(letters, 100.0)
    made = grid(0, rows=(("a" * 10 + " bbbb", "x"), ("a" * 10 + " bbbbb", "x"), ("x", "y")), widths=(28.7, 71.3))
    rows = 4 * NORMAL_MM + 3 * 0.5
    assert room.table(made, heads=False) == pytest.approx(rows, abs=0.01)
    assert room.table(made, heads=True) == pytest.approx(rows + NORMAL_MM + 0.5, abs=0.01)
    assert room.table(replace(made, heads=()), heads=True) == pytest.approx(rows, abs=0.01)
    assert room.table(replace(made, tall=True), heads=False) == pytest.approx(6.0 + 2 * NORMAL_MM + 0.5 + 6.0, abs=0.01)
    assert room.table(replace(made, large=True), heads=False) == pytest.approx(5 * LARGE_MM + 3 * 0.5, abs=0.01)


SIZES_MM = (NORMAL_MM, NORMAL_MM + 0.5, 6.0)
"""Of a line, a row and a tall row."""
ABOVE = SheetSection(title="Above", lines=("x",), grids=(grid(2, heads=()), grid(2, heads=(), tall=True)))


def used_mm(found: Page) -> float:
    """How far a page is written on below its margin: the lowest box, or the foot of the lowest line."""
    foot = [each.y + NORMAL_MM / 2 - 0.3 * 9 * PT_MM for each in found.texts]
    return max([*foot, *(top + height for _, top, _, height in found.boxes)]) - MARGIN_MM


def above(left_mm: float) -> SheetSection:
    """What leaves so much of a page, or up to a quarter of a millimetre more."""
    (alone,) = pages(ABOVE)
    more = A4_MM[1] - 2 * MARGIN_MM - used_mm(alone) - 1.0 - left_mm
    for low, tall in product(range(12), range(12)):
        line = (more - low * SIZES_MM[1] - tall * SIZES_MM[2]) / SIZES_MM[0]
        if line >= 0 and line % 1.0 * SIZES_MM[0] < 0.25:
            grids = (grid(2 + low, heads=()), grid(2 + tall, heads=(), tall=True))
            return replace(ABOVE, lines=("x",) * (1 + int(line)), grids=grids)
    raise AssertionError("no filling of that height")


LONG = (("row 1", " ".join(["word"] * 30)), ("row 2", "x"), ("row 3", "x"))
OF_A_LINE = tuple(" ".join("i" * count) for count in range(106, 122))
"""Lines that just fill the width of a page, and lines that just do not, in steps of 1.6 mm."""
OF_HALF_A_LINE = tuple(" ".join("i" * count) for count in range(52, 64))
BELOW = {
    "lines of the width of the page": (SheetSection(title="B", lines=OF_A_LINE), 1.0, "B"),
    "lines of half the width": (SheetSection(title="B", lines=OF_HALF_A_LINE, two_columns=True), 1.0, "B"),
    "bold lines of that width": (SheetSection(title="B", grids=(grid(3),), after=OF_A_LINE), 0.0, OF_A_LINE[0]),
    "head, lines and rows": (SheetSection(title="B", lines=("one", "two"), grids=(grid(4),)), 0.0, "B"),
    "head and rows that are broken": (SheetSection(title="B", grids=(grid(3, rows=LONG),)), 0.0, "B"),
    "large rows": (SheetSection(title="B", grids=(grid(3, large=True),)), 0.0, "B"),
    "a group": (SheetSection(title="B", grids=(grid(9, headed=True, tall=True),)), 0.0, "B"),
    "a list alone": (SheetSection(title="B", lines=("one", "two", "three", "four")), 1.0, "B"),
    "two columns": (SheetSection(title="B", lines=("one", "two", "three " * 40, "four"), two_columns=True), 1.0, "B"),
    "rows three to six": (SheetSection(title="B", grids=(grid(6),)), 0.0, "row 4"),
    "another table": (SheetSection(title="B", grids=(grid(3), grid(3, heads=("who", "how")))), 0.0, "who"),
    "the same table": (SheetSection(title="B", grids=(grid(2), grid(3, rows=LONG[::-1])),), 0.0, "row 3"),
    "what is said last": (SheetSection(title="B", grids=(grid(3),), after=("after", "more")), 0.0, "after"),
}  # fmt: skip


@pytest.mark.parametrize(("below", "gap", "moved"), BELOW.values(), ids=BELOW)
def test_what_belongs_together_turns_the_page_together_and_only_where_it_does_not_fit(
    below: SheetSection, gap: float, moved: str
) -> None:
    _, alone = pages(above(150.0), replace(below, new_page=True))
    needed = used_mm(alone) + gap
    assert len(pages(above(needed), below)) == 1, "it fits"
    first, second = pages(above(needed - 0.3), below)
    texts = [each.text for each in second.texts if each.text not in ("what", "how")]
    assert texts[0] == moved
    assert not first.has(moved) or moved.startswith("row")
    assert second.has("what") == bool(below.grids and moved not in ("who", "after", OF_A_LINE[0])), (
        "heads are said on every page"
    )


def test_a_section_for_itself_begins_a_page_but_leaves_none_with_a_title_alone() -> None:
    alone = SheetSection(title="B", lines=("one",), new_page=True)
    assert len(pages(alone)) == 1
    assert len(pages(lines(1), alone)) == 2
    first, second = pages(SheetSection(title="A", lines=("one",)), alone, lines(2))
    assert first.has("A")
    assert second.has("B")


def test_what_is_longer_than_a_page_begins_on_the_one_it_stands_on() -> None:
    first, second = pages(SheetSection(title="A", grids=(grid(50, headed=True, tall=True),)))
    assert first.has("A")
    assert first.has("row 40")
    assert second.has("row 50")


@pytest.fixture(scope="module")
def own_font(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A font with the letters of the title, the foot and one Greek letter, each a box."""
    characters = " ·0123456789ABTabcdefghilnoprstuvwxyΚ"
    pen = TTGlyphPen(None)
    pen.moveTo((0, 0))
    for corner in ((0, 500), (400, 500), (400, 0)):
        pen.lineTo(corner)
    pen.closePath()
    names = {ord(c): f"g{ord(c)}" for c in characters}
    order = [".notdef", *names.values()]
    made = FontBuilder(1000, isTTF=True)
    made.setupGlyphOrder(order)
    made.setupCharacterMap(names)
    made.setupGlyf(dict.fromkeys(order, pen.glyph()))
    made.setupHorizontalMetrics(dict.fromkeys(order, (500, 0)))
    made.setupHorizontalHeader(ascent=800, descent=-200)
    made.setupNameTable({"familyName": "Boxes", "styleName": "Regular"})
    made.setupOS2()
    made.setupPost()
    path = tmp_path_factory.mktemp("font") / "boxes.ttf"
    made.save(path)
    return path


def test_a_font_of_ones_own_prints_its_letters_and_refuses_what_it_lacks(own_font: Path) -> None:
    sheet = ReliefSheet(
        title="Title Κ", subtitle="a", foot="foot", sections=(SheetSection(title="Κ", grids=(grid(3),)),)
    )
    assert b"Helvetica" not in as_pdf(sheet, MADE, own_font)
    with pytest.raises(BadInput, match="no “Ω”"):
        as_pdf(replace(sheet, subtitle="Ω"), MADE, own_font)
    with pytest.raises(BadInput, match="no “é”"):
        as_pdf(replace(sheet, subtitle="é"), MADE, own_font)


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("Čapek", "Capek"),
        ("ÿ é ß", "ÿ é ß"),
        ("ħ", "ħ"),
        ("ﬁn", "fin"),
        ("Œuvre łódź", "OEuvre lódz"),
        ("Κ", "Κ"),
        ("ἀ", "ἀ"),
        ("⅓", "⅓"),
        ("a\u0301", "a\u0301"),
    ],
)
def test_a_letter_keeps_its_accent_where_the_printer_has_it_and_else_loses_it(text: str, plain: str) -> None:
    assert in_latin_1(text) == plain


def test_the_foot_is_spelled_plainly_too() -> None:
    pdf = as_pdf(ReliefSheet(title="T", subtitle="", foot="Čapek", sections=()), MADE)
    assert b"/Title (Capek)" in pdf


def test_a_letter_that_cannot_be_spelled_is_refused_with_its_place() -> None:
    with pytest.raises(
        BadInput, match=r"no “ħ” \(U\+0127\), which stands in “a long name that begins with aħ and goes”"
    ):
        pages(lines(1), title="a long name that begins with aħ and goes on")
