"""Taking in a table from elsewhere, an old paper log or one's own export: preview first, then all or nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import print_json
from rounds.cli.output import done
from rounds.errors import BadInput, NotFound, RoundsError
from rounds.farm.reading_files import no_such_key
from rounds.history.own_table import is_own, read_own
from rounds.history.paper_log import MOST_BYTES, Column, Mapping, PaperPreview, check_time_format, preview
from rounds.record_kinds import KINDS
from rounds.toml_bounds import loads, read_bounded
from rounds.walk.imports import AsIfTyped
from rounds.walk.session import Session

EXAMPLE = """A mapping is a small TOML file:
  time = ["Date", "Time"]
  time_format = "%d.%m.%Y %H:%M"
  [[columns]]
  heading = "pH big tank"
  station = "res-1"
  item = "ph"
"""
MOST_SHOWN = 20


def take_in(
    session: Session, table: Path, mapping: Path | None, *, confirmed: bool, as_json: bool, keeps: bool = False
) -> int:
    """Show what a table holds, and write it down where that was confirmed; 1 where something of it is left out."""
    paper = _paper(session, _text(table), mapping)
    drafts = (*paper.drafts, *(paper.kept if keeps else ()))
    written = session.gate.write_many(drafts, by=session.person) if confirmed and drafts else 0
    if written:
        done(f"{written} records were written down.")
    if as_json:
        print_json(
            {
                "sentences": list(paper.sentences), "new": len(paper.drafts), "known": paper.known,
                "refused": [_form(each) for each in paper.refused],
                "doubted": [_form(each) for each in paper.doubted], "written": written,
            }
        )  # fmt: skip
    else:
        _show(paper)
        print(f"{written} written down." if confirmed else "Nothing was written yet: --yes takes it in.")
    return 1 if paper.refused or (paper.doubted and not keeps) else 0


def _paper(session: Session, text: str, mapping: Path | None) -> PaperPreview:
    judge = AsIfTyped(session)
    if mapping is None and is_own(text):
        return read_own(session.history, text, judge)
    if mapping is None:
        raise in_words(BadInput, "no-mapping", example=EXAMPLE)
    how = _mapping(session, mapping)
    try:
        judge.check_columns(how.columns)
    except RoundsError as error:
        raise in_words(BadInput, "mapping-odd", path=str(mapping), why=str(error).rstrip("."), example="") from error
    return preview(session.history, text, how, judge)


def _form(cell: Any) -> dict[str, Any]:
    return {"row": cell.row, "heading": cell.heading, "sentence": cell.sentence}


def _show(paper: PaperPreview) -> None:
    print("\n".join(paper.sentences))
    for sign, cells in (("✗", paper.refused), ("?", paper.doubted)):
        for cell in cells[:MOST_SHOWN]:
            print(f"  {sign} row {cell.row}, {cell.heading}: {cell.sentence}")
        if len(cells) > MOST_SHOWN:
            print(f"  {sign} and {len(cells) - MOST_SHOWN} more")


def _text(path: Path) -> str:
    try:
        return read_bounded(path, MOST_BYTES).decode("utf-8-sig")
    except OSError as error:
        raise in_words(NotFound, "not-read", path=str(path), why=error.strerror or str(error)) from error
    except UnicodeDecodeError as error:
        raise in_words(BadInput, "not-utf-8", path=str(path)) from error


def _mapping(session: Session, path: Path) -> Mapping:
    import msgspec

    try:
        raw: dict[str, Any] = loads(_text(path))
        _know_keys(raw, Mapping, "zone")
        rows = raw.pop("columns", [])
        for row in rows if isinstance(rows, list) else ():
            _know_keys(row, Column)
        columns = tuple(msgspec.convert(rows, list[Column]))
        mapping = msgspec.convert({"zone": session.zone, **raw, "columns": columns}, Mapping)
        check_time_format(mapping.time_format)
    except (BadInput, ValueError, TypeError, msgspec.ValidationError) as error:
        raise in_words(BadInput, "mapping-odd", path=str(path), why=str(error).rstrip("."), example=EXAMPLE) from error
    unknown = next((kind for kind in (column.kind for column in columns) if kind not in KINDS), None)
    if unknown is not None:
        raise in_words(BadInput, "mapping-kind", path=str(path), kind=unknown[:40], known=", ".join(KINDS))
    return mapping


def _know_keys(table: object, kind: type[Any], *hidden: str) -> None:
    """Refuse a key that a mapping does not have: it would be passed over in silence."""
    known = [name for name in kind.__dataclass_fields__ if name not in hidden]
    for key in table if isinstance(table, dict) else ():
        if key not in known:
            raise in_words(BadInput, "mapping-key", key=key[:40], known=no_such_key(key[:40], known))
