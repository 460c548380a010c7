"""Drawings measured like drawings: with a ruler, at the scale they state."""

import re
import shutil
import subprocess
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from rounds.markout.pdf import STRIP_PAGE_MM, as_pdf, printable, strip_pages, strip_shapes
from rounds.markout.plan import plan
from rounds.markout.sheet import HEIGHT_MM, WIDTH_MM, Circle, Label, Stroke, sheet
from rounds.markout.svg import as_svg
from rounds.markout.terminal import draw
from rounds.markout.typed import read

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("changes", [
    {}, {"length": "0.5m", "supports": "2", "spacing": "60mm"}, {"length": "14m", "supports": "15"},
    {"ground": "0,-30,25,4mm", "section": "100mm"}, {"supports": "300,2000,3900mm", "inspection": "65mm"},
])  # fmt: skip
def test_the_terminal_drawing_fits_80_by_24(planned, changes):
    lines = draw(planned(**changes))
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80
    assert all(line.isascii() for line in lines)


def test_the_terminal_plan_shows_every_site_in_its_place(planned):
    lines = draw(planned())
    row = next(line for line in lines if "D" in line and "o" in line and "site" not in line)
    assert [row.count("o"), row.count("x"), row.count("D")] == [15, 1, 1]
    assert row.index("o") == round(150 / 4200 * 78)


def test_the_terminal_elevation_falls_from_left_to_right(planned):
    lines = draw(planned())[1:9]
    starts = [line.index("=") for line in lines if "=" in line]
    assert starts == sorted(starts)
    assert len(starts) == 7


def test_every_site_has_its_running_dimension_on_the_terminal(planned):
    shown = " ".join(draw(planned()))
    assert all(re.search(rf"\b{at}\b", shown) for at in planned().sites.sites_mm)


def test_the_svg_is_paper_sized_and_its_holes_lie_to_scale(planned):
    worked_out = planned()
    root = ElementTree.fromstring(as_svg(worked_out))
    assert (root.get("width"), root.get("height")) == ("297mm", "210mm")
    scale = sheet(worked_out).scale
    circles = root.findall(f"{SVG}circle")
    places = [float(circle.get("cx")) * scale for circle in circles]
    assert [b - a for a, b in pairwise(places[:16])] == pytest.approx([250.0] * 15, abs=0.01)
    assert float(circles[0].get("r")) * 2 * scale == pytest.approx(50, abs=0.01)
    assert f"1:{scale}" in "".join(root.itertext())


def test_the_elevation_falls_by_the_fall_to_scale(planned):
    worked_out = planned()
    page = sheet(worked_out)
    long = [s for s in page.shapes if isinstance(s, Stroke) and not s.dashed and s.x2 - s.x1 > 200 and s.y1 != s.y2]
    assert [(s.y2 - s.y1) * page.scale for s in long] == pytest.approx([105, 105])
    assert [(s.x2 - s.x1) * page.scale for s in long] == pytest.approx([4200, 4200])


@pytest.mark.parametrize("length", ["0.3m", "1m", "4.2m", "13m", "60m"])
def test_everything_stays_on_the_page_at_a_usual_scale(planned, length):
    page = sheet(planned(length=length, supports="2", spacing="200mm"))
    for shape in page.shapes:
        for x, y in _points(shape):
            assert 0 <= x <= WIDTH_MM
            assert 0 <= y <= HEIGHT_MM


def _points(shape):
    if isinstance(shape, Stroke):
        return [(shape.x1, shape.y1), (shape.x2, shape.y2)]
    return [(shape.x, shape.y)]


def test_the_marking_strip_is_true_size_and_meets_page_by_page(planned):
    """Every hole has its middle at its running dimension; one that lies on a seam has it on both pages."""
    worked_out = planned()
    pages = strip_pages(4200)
    assert pages == 17
    left = (WIDTH_MM - STRIP_PAGE_MM) / 2
    found = []
    for page in range(pages):
        shapes = strip_shapes(worked_out, page, pages)
        marked = {shape.text for shape in shapes if isinstance(shape, Label)}
        for circle in (shape for shape in shapes if isinstance(shape, Circle)):
            at = page * STRIP_PAGE_MM + circle.x - left
            if str(round(at)) in marked:
                found.append((round(at, 6), circle.diameter))
    assert list(dict.fromkeys(found)) == [(hole.at_mm, hole.diameter_mm) for hole in worked_out.sites.holes]


def test_a_hole_on_a_seam_is_drawn_on_both_pages(planned):
    worked_out = planned(first_site="250mm")
    drawn = [
        any(isinstance(shape, Circle) and shape.diameter == 50 for shape in strip_shapes(worked_out, page, 17))
        for page in (0, 1)
    ]
    assert drawn == [True, True]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext")
def test_the_pdf_holds_drawing_lists_and_strip(planned, tmp_path):
    file = tmp_path / "channel.pdf"
    file.write_bytes(as_pdf(planned(), strip=True))
    text = subprocess.run(["pdftotext", "-layout", str(file), "-"], capture_output=True, text=True, check=True).stdout
    assert "Scale 1:20" in text
    assert "Drill list" in text
    assert "Marking strip 17 of 17" in text
    assert "outlet end" in text


def test_the_pdf_is_one_without_looking_inside(planned):
    plain, with_strip = as_pdf(planned()), as_pdf(planned(), strip=True)
    assert plain.startswith(b"%PDF-")
    assert with_strip.count(b"/Type /Page\n") - plain.count(b"/Type /Page\n") == 17


def test_what_the_built_in_fonts_lack_is_replaced_and_does_not_fail():
    assert printable("“Länge” 20 °C … Ω") == '"Länge" 20 °C ... ?'
    worked_out = plan(read({"length": "1m", "section": "100mm", "slope": "1:40", "spacing": "200", "hole": "45",
                            "flow": "1", "parts": "messing ✓ brass Ω"}))  # fmt: skip
    assert as_pdf(worked_out).startswith(b"%PDF-")
