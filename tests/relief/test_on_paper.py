"""What is on the sheet is on the paper: read back from the bytes of the PDF and from the page, word by word."""

from __future__ import annotations

import errno
import html
import re
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from rounds.errors import NotSaved
from rounds.history.disk import Disk
from rounds.relief.bundle import write_bundle
from rounds.relief.html import as_html
from rounds.relief.model import Grid, ReliefSheet
from rounds.relief.opening import open_bundle
from rounds.relief.pdf import as_pdf
from rounds.relief.printable import in_latin_1
from rounds.relief.sheet import relief_for, relief_sheet
from rounds.walk.session import Session

FIRST, LAST = date(2026, 11, 26), date(2026, 12, 2)
BOTH = '"leaf-a", "leaf-b"'
STATIONS = ("First", "Reservoir", "Channel", "Hen house")
Open = Callable[..., Session]


def sheet_of(session: Session, last: date = LAST) -> ReliefSheet:
    return relief_sheet(session, relief_for(session, "ben", FIRST, last))


def grids(sheet: ReliefSheet) -> Iterator[Grid]:
    for section in sheet.sections:
        yield from section.grids


def words(text: str) -> Counter[str]:
    return Counter(text.replace("**", "").split())


def written(sheet: ReliefSheet) -> Counter[str]:
    """Every word of the sheet; the heads of a table may stand once for all its parts."""
    found: Counter[str] = words(f"{sheet.title} {sheet.subtitle}")
    for section in sheet.sections:
        found += words(" ".join([section.title, *section.lines, *section.after]))
    for grid in grids(sheet):
        found += sum((words(cell) for row in grid.rows for cell in row), Counter())
    return found


def printed(pdf: bytes) -> str:
    """The texts of a PDF in the fonts that every reader has, in the order in which they were written."""
    found = []
    for raw in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL):
        try:
            page = zlib.decompress(raw)
        except zlib.error:
            continue
        for text in re.findall(rb"\(((?:\\.|[^\\()])*)\) Tj", page):
            found.append(re.sub(rb"\\(.)", rb"\1", text).decode("cp1252", "replace"))
    return " ".join(found)


@pytest.mark.parametrize("last", [FIRST, LAST, FIRST + timedelta(days=20)])
def test_every_word_and_number_of_the_sheet_stands_on_the_printed_paper(
    farm_folder: Path, opened: Open, allow: Callable[..., None], last: date
) -> None:
    allow(farm_folder, BOTH)
    session = opened(farm_folder)
    sheet = sheet_of(session, last)
    paper = words(in_latin_1(printed(as_pdf(sheet, session.now()))))
    expected = Counter({in_latin_1(word): number for word, number in written(sheet).items()})
    assert expected - paper == Counter()
    for grid in grids(sheet):
        assert set(words(in_latin_1(" ".join(grid.heads)))) <= set(paper)


def test_every_word_and_number_of_the_sheet_stands_on_the_page(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    allow(farm_folder, BOTH)
    sheet = sheet_of(opened(farm_folder))
    page = words(html.unescape(re.sub(r"<[^>]*>", " ", as_html(sheet))))
    assert written(sheet) - page == Counter()


def test_three_weeks_have_every_day_once_at_the_head_of_each_station(farm_folder: Path, opened: Open) -> None:
    days = [FIRST + timedelta(days=n) for n in range(21)]
    sheet = sheet_of(opened(farm_folder), days[-1])
    weeks = [section for section in sheet.sections if section.title.startswith("The walk: morning")]
    told = [head for section in weeks for head in section.grids[0].heads[1:]]
    assert told == [f"{day:%a} {day.day}" for day in days]


@pytest.mark.parametrize(
    ("title", "names"),
    [("Reservoir", ["Reservoir one"]), ("Channel", ["Channel one", "Channel two"]), ("Hens", ["Hen"])],
)
def test_every_number_that_can_be_ringed_on_the_walk_stands_in_the_list_of_what_is_normal(
    farm_folder: Path, opened: Open, title: str, names: list[str]
) -> None:
    sheet = sheet_of(opened(farm_folder))
    (normal,) = (each for each in sheet.sections if each.title.startswith("What is normal"))
    (entries,) = (grid for grid in normal.grids if grid.heads[0] == title)
    listed = {int(n) for row in entries.rows for cell in row for n in re.findall(r"^\*\*(\d+)\. ", cell)}
    here, ringed = False, set[int]()
    for row in (row for each in sheet.sections if "The walk" in each.title for grid in each.grids for row in grid.rows):
        here = row[0].startswith(tuple(names)) if row[0].startswith(STATIONS) else here
        ringed |= {int(n) for cell in row[1:] for n in re.findall(r"\b\d+\b", cell) if here}
    assert listed == ringed
    assert len(listed) >= 4


def test_a_helper_is_told_to_look_first_at_what_must_be_alive_and_running(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    alive = session.checklists.of("alive")
    assert alive is not None
    (section,) = (each for each in sheet_of(session).sections if each.title.startswith("First on every round"))
    assert list(section.lines) == [item.label for item in alive.items]


@pytest.mark.parametrize(
    ("products", "told"), [(BOTH, "Products: Leaf A, Leaf B."), ("", "Products: none: only water.")]
)
def test_the_table_names_what_the_helper_may_pour(
    farm_folder: Path, opened: Open, allow: Callable[..., None], products: str, told: str
) -> None:
    allow(farm_folder, products)
    (doses,) = (each for each in sheet_of(opened(farm_folder)).sections if each.title == "Doses: Reservoir one")
    assert told in " ".join(doses.lines)


def test_a_bundle_that_did_not_fit_leaves_nothing_and_opens_when_there_is_room(
    farm_folder: Path, opened: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = opened(farm_folder)
    bundle = tmp_path / "bundle.zip"
    with session.history:
        write_bundle(session, relief_for(session, "ben", FIRST, LAST), bundle)
    target = tmp_path / "helper" / "farm"
    target.parent.mkdir()
    with monkeypatch.context() as full:
        full.setattr(Disk, "write", _no_room)
        with pytest.raises(NotSaved, match="could not be written"):
            open_bundle(bundle, target)
    assert list(target.parent.iterdir()) == []
    open_bundle(bundle, target)
    assert (target / "farm.toml").read_bytes() == (farm_folder / "farm.toml").read_bytes()


def _no_room(*_: object) -> int:
    raise OSError(errno.ENOSPC, "No space left on device")
