"""The sheet on paper and as a page: what must stand on it, how long it is, and characters a printer lacks."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from rounds.errors import BadInput
from rounds.relief.html import as_html
from rounds.relief.model import ReliefSheet
from rounds.relief.pdf import as_pdf
from rounds.relief.printable import in_latin_1
from rounds.relief.sheet import relief_for, relief_sheet
from rounds.walk.session import Session

SIX = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
FIRST, LAST = date(2026, 11, 26), date(2026, 12, 2)
Open = Callable[..., Session]
needs_pdftotext = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext reads the pages back")


@pytest.fixture(scope="module")
def made(laid_out: Path) -> tuple[ReliefSheet, bytes]:
    """The sample farm's sheet for seven days, made once."""
    session = Session.open(laid_out, clock=lambda: SIX)
    sheet = relief_sheet(session, relief_for(session, "helper", FIRST, LAST))
    return sheet, as_pdf(sheet, SIX)


def pages(pdf: bytes, folder: Path, *options: str) -> list[str]:
    file = folder / "sheet.pdf"
    file.write_bytes(pdf)
    found = subprocess.run(["pdftotext", *options, str(file), "-"], capture_output=True, text=True, check=True)
    return found.stdout.split("\f")[:-1]


def page_count(pdf: bytes) -> int:
    return len(re.findall(rb"/Type /Page\b(?!s)", pdf))


def test_seven_days_of_the_sample_farm_fit_on_six_a4_pages(made: tuple[ReliefSheet, bytes]) -> None:
    _, pdf = made
    assert page_count(pdf) <= 6
    boxes = set(re.findall(rb"/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]", pdf))
    assert boxes == {(b"595.28", b"841.89")}, "A4 in points: 210 x 297 mm"


@needs_pdftotext
def test_what_a_helper_needs_stands_on_it(made: tuple[ReliefSheet, bytes], tmp_path: Path) -> None:
    text = " ".join(" ".join(pages(made[1], tmp_path)).split())
    for part in (
        "555 0101", "Pump stopped", "Power cut", "Leak", "Animal ill", "Spill", "Smell of gas",
        "Red switch left of the greenhouse door", "What you must not do", "Acid into water, never water into acid.",
        "rinse 15 minutes", "chlorine gas", "The walk: morning", "Thu 26", "Wed 2", "Channel 6 (SICK: last",
        "Doses: Reservoir 2, herbs",
        "numbered pairs of bottles", "Top-up tank of", "Outside this table: do nothing, call.",
        "What is normal", "Poured and noticed",
        "local codes", "is everything alive and running?", "All pumps heard",
    ):  # fmt: skip
        assert part in text, part


@needs_pdftotext
def test_no_head_stands_alone_at_the_foot_of_a_page(made: tuple[ReliefSheet, bytes], tmp_path: Path) -> None:
    titles = {section.title for section in made[0].sections}
    for page in pages(made[1], tmp_path, "-layout"):
        lines = [line.strip() for line in page.splitlines() if line.strip()]
        assert "page" in lines[-1]
        assert in_latin_1(lines[-2]) not in titles


@needs_pdftotext
def test_a_reservoir_is_never_cut_in_two(made: tuple[ReliefSheet, bytes], tmp_path: Path) -> None:
    texts = pages(made[1], tmp_path, "-layout")
    for name, rest in (("Reservoir 1, lettuce", "poured: water"), ("Hen house", "Eggs collected")):
        page = next(page for page in texts if re.search(rf"^\s*{name}\s*$", page, re.MULTILINE))
        after = page[re.search(rf"^\s*{name}\s*$", page, re.MULTILINE).start() :]  # type: ignore[union-attr]
        assert rest in after


def test_the_same_farm_at_the_same_time_prints_the_same_bytes(opened: Open, farm_folder: Path) -> None:
    session = opened(farm_folder)
    sheet = relief_sheet(session, relief_for(session, "ben", FIRST, LAST))
    assert as_pdf(sheet, session.now()) == as_pdf(sheet, session.now())


def test_a_farm_with_next_to_nothing_in_it_has_a_sheet_too(opened: Open, farm_folder: Path) -> None:
    text = (farm_folder / "farm.toml").read_text(encoding="utf-8")
    (farm_folder / "farm.toml").write_text(
        text[: text.index("[[stations]]")] + text[text.rindex("[[stations]]") :], encoding="utf-8"
    )
    session = opened(farm_folder)
    sheet = relief_sheet(session, relief_for(session, "ben", FIRST, FIRST))
    assert page_count(as_pdf(sheet, session.now())) <= 2
    assert any("Nobody is entered" in row[0] for s in sheet.sections for g in s.grids for row in g.rows)


def test_a_month_is_laid_out_week_by_week(opened: Open, farm_folder: Path) -> None:
    session = opened(farm_folder)
    sheet = relief_sheet(session, relief_for(session, "ben", FIRST, FIRST + timedelta(days=27)))
    assert [s.title for s in sheet.sections if "morning" in s.title] == [
        f"The walk: morning, week {n}" for n in (1, 2, 3, 4)
    ]


def test_html_holds_everything_as_text_and_nothing_as_markup(opened: Open, farm_folder: Path) -> None:
    path = farm_folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace('"Reservoir one"', "'<script>alert(1)</script>[bold]&'")
    path.write_text(text, encoding="utf-8")
    session = opened(farm_folder)
    page = as_html(relief_sheet(session, relief_for(session, "ben", FIRST, LAST)))
    assert "<script>" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;[bold]&amp;" in page
    assert page.count("<table") == page.count("</table>")


def named(farm_folder: Path, name: str) -> None:
    path = farm_folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("Hen house", name), encoding="utf-8")


def test_letters_the_built_in_fonts_lack_are_spelled_plainly(opened: Open, farm_folder: Path) -> None:
    named(farm_folder, "Slepičí dům – süß, ≤ 3")
    session = opened(farm_folder)
    as_pdf(relief_sheet(session, relief_for(session, "ben", FIRST, LAST)), session.now())
    assert in_latin_1("Slepičí dům – süß") == "Slepicí dum - süß"


def test_a_script_the_font_has_not_is_a_sentence_and_no_empty_boxes(opened: Open, farm_folder: Path) -> None:
    named(farm_folder, "Κοτέτσι")
    session = opened(farm_folder)
    sheet = relief_sheet(session, relief_for(session, "ben", FIRST, LAST))
    with pytest.raises(BadInput, match=r"The printer font has no “Κ” \(U\+039A\)"):
        as_pdf(sheet, session.now())
    assert "Κοτέτσι" in as_html(sheet)


def test_a_file_that_is_no_font_is_a_sentence(opened: Open, farm_folder: Path, tmp_path: Path) -> None:
    session = opened(farm_folder)
    sheet = relief_sheet(session, relief_for(session, "ben", FIRST, LAST))
    (tmp_path / "no.ttf").write_bytes(b"not a font")
    with pytest.raises(BadInput, match="not a font"):
        as_pdf(sheet, session.now(), tmp_path / "no.ttf")


def test_escape_bytes_in_a_phone_number_reach_no_page(opened: Open, farm_folder: Path) -> None:
    with (farm_folder / "farm.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[contacts]]\nname = "N\\u001b[31m"\nwhat = "w\\u202e"\nphone = "555\\u0007"\n')
    session = opened(farm_folder)
    sheet = relief_sheet(session, relief_for(session, "ben", FIRST, LAST))
    for text in (as_html(sheet), "".join(sheet.texts())):
        assert not {"\x1b", "\x07", "\u202e"} & set(text)
