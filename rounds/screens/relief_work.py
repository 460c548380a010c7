"""What the relief screen has done for it, off the event loop: a sentence, and a page of text."""

from __future__ import annotations

from pathlib import Path

from rounds.errors import BadInput, NotSaved, Refused
from rounds.history.merge import MergePreview
from rounds.relief.sheet import Relief
from rounds.walk.daybook.sentences import record_text
from rounds.walk.session import Session

MOST_SHOWN = 200


def made_sheet(session: Session, relief: Relief, folder: Path) -> tuple[str, str]:
    """Write the sheet as PDF and HTML."""
    from rounds.relief.bundle import write_file
    from rounds.relief.html import as_html
    from rounds.relief.pdf import as_pdf
    from rounds.relief.sheet import relief_sheet, sheet_tables

    tables = sheet_tables(session, relief)
    sheet = relief_sheet(session, relief, tables)
    path = _place(folder) / _stem(relief, "sheet")
    write_file(path.with_suffix(".html"), as_html(sheet).encode("utf-8"))
    write_file(path.with_suffix(".pdf"), as_pdf(sheet, session.now()))
    refused = [f"! {each}" for each in tables if isinstance(each, Refused)]
    parts = [section.title for section in sheet.sections]
    return f"The sheet is in {path}.pdf and .html.", "\n".join([*refused, *parts])


def made_bundle(session: Session, relief: Relief, folder: Path) -> tuple[str, str]:
    """Write the bundle."""
    from rounds.relief.bundle import write_bundle
    from rounds.trust.owning import doubt

    path = _place(folder) / f"{_stem(relief, 'bundle')}.zip"
    made = write_bundle(session, relief, path)
    told = f"On the helper's laptop:  rounds open {path.name}\nThere afterwards:  rounds relief FARM --back back.zip"
    return f"{len(made.files)} files are in {path}.", "\n".join(filter(None, (told, doubt(session.history))))


def made_plan(session: Session, relief: Relief) -> tuple[str, str]:
    """Work out what can be prepared."""
    from rounds.relief.easier import easier
    from rounds.relief.forms import easier_lines

    found = easier(session, relief)
    return "What can be prepared, so that less has to be dosed:", "\n\n".join(
        "\n".join(easier_lines(each)) for each in found
    )


def made_report(session: Session, relief: Relief) -> tuple[str, str]:
    """Look back over the days away."""
    from rounds.relief.taking_back import report

    if relief.days[0] > session.now().date():
        raise BadInput("These days have not come yet.", "Set first and last day to those on which you were away.")
    made = report(session, relief.days[0], relief.days[-1])
    blocks = [
        "\n".join([f"{title}: {'' if lines else 'none'}".rstrip(), *(f"  · {line}" for line in lines)])
        for title, lines in made.blocks()
    ]
    return f"The time away, {made.first.isoformat()} to {made.last.isoformat()}.", "\n".join(blocks)


def seen(session: Session, path: Path) -> tuple[MergePreview, str]:
    """Look into what is handed over; nothing is written."""
    from rounds.relief.handed_over import looked_at

    found = looked_at(session, path)
    lines = [
        f"  {record.measured_at.astimezone(session.zone):%a %d %b %H:%M} {record_text(session, record)}"
        for record in found.new[:MOST_SHOWN]
    ]
    more = [f"  and {len(found.new) - MOST_SHOWN} more"] if len(found.new) > MOST_SHOWN else []
    return found, "\n".join([*found.sentences, *_refused(found), *lines, *more])


def _refused(found: MergePreview) -> list[str]:
    """What does not come in, and how it can be had all the same."""
    told = [f"  ✗ {each.what or each.id}: {each.sentence}" for each in found.refused[:MOST_SHOWN]]
    return [*told, "  One by one:  rounds merge FARM BUNDLE --take ID  (its list has the ids)"] if told else []


def taken_in(session: Session, merge: MergePreview) -> tuple[str, str]:
    """Take in what was looked at."""
    return f"{session.gate.merge(merge)} records were taken in. Ctrl+T shows the time away.", ""


def _stem(relief: Relief, word: str) -> str:
    return f"{word}-{relief.person.id}-{relief.days[0].isoformat()}"


def _place(folder: Path) -> Path:
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise NotSaved(f"{folder} could not be made: {error.strerror or error}.") from error
    return folder
