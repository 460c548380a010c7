"""Taking in an old paper log that was typed as a table: preview first, then all or nothing."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import print_json
from rounds.cli.output import done
from rounds.errors import BadInput, NotFound
from rounds.history.paper_log import Column, Mapping, preview
from rounds.record_kinds import KINDS
from rounds.walk.session import Session

EXAMPLE = """A mapping is a small TOML file:
  time = ["Date", "Time"]
  time_format = "%d.%m.%Y %H:%M"
  [[columns]]
  heading = "pH big tank"
  station = "res-1"
  item = "ph"
"""


def take_in(session: Session, table: Path, mapping: Path | None, *, confirmed: bool, as_json: bool) -> int:
    """Show what a table holds, and write it down where that was confirmed."""
    if mapping is None:
        raise in_words(BadInput, "no-mapping", example=EXAMPLE)
    judge = partial(session.gate.ask, by=session.person)
    paper = preview(session.history, _text(table), _mapping(session, mapping), judge)
    written = session.gate.write_many(paper.drafts, by=session.person) if confirmed else 0
    if written:
        done(f"{written} records were written down.")
    if as_json:
        print_json(
            {"sentences": list(paper.sentences), "new": len(paper.drafts), "known": paper.known, "written": written}
        )
    else:
        print("\n".join(paper.sentences))
        for cell in paper.refused[:20]:
            print(f"  row {cell.row}, {cell.heading}: {cell.sentence}")
        print(f"{written} written down." if confirmed else "Nothing was written yet: --yes takes it in.")
    return 0


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise in_words(NotFound, "not-read", path=str(path), why=error.strerror or str(error)) from error
    except UnicodeDecodeError as error:
        raise in_words(BadInput, "not-utf-8", path=str(path)) from error


def _mapping(session: Session, path: Path) -> Mapping:
    import tomllib

    import msgspec

    try:
        raw: dict[str, Any] = tomllib.loads(_text(path))
        columns = tuple(msgspec.convert(raw.pop("columns", []), list[Column]))
        mapping = msgspec.convert({"zone": session.zone, **raw, "columns": columns}, Mapping)
    except (tomllib.TOMLDecodeError, msgspec.ValidationError, TypeError) as error:
        raise in_words(BadInput, "mapping-odd", path=str(path), why=str(error), example=EXAMPLE) from error
    unknown = next((kind for kind in (column.kind for column in columns) if kind not in KINDS), None)
    if unknown is not None:
        raise in_words(BadInput, "mapping-kind", path=str(path), kind=unknown[:40], known=", ".join(KINDS))
    return mapping
