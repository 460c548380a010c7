"""`rounds relief FARM --for NAME --from D --to D`: sheets and bundles for a helper, and taking the rounds back."""

from __future__ import annotations

import argparse
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import add_farm, add_person, open_session, print_json, say_who_walks
from rounds.cli.json_keys import tell_keys
from rounds.cli.output import done
from rounds.errors import BadInput, Refused
from rounds.walk.walker import person_form

if TYPE_CHECKING:
    from rounds.relief.sheet import Relief
    from rounds.relief.tables import DoseTable
    from rounds.walk.session import Session

_KEYS = """
format      1
farm        name of the farm
for         id of the helper
days        every day away
due         what falls due on these days
  station, round, item, days
tables      dose tables, one for each reservoir
  reservoir, from, to
  holds       sentences: what must be so for the table to hold
  levels_cm   the ranges of the dip, one for each cell of a row
  ec_rows, ph_rows
    low, high
    cells     one for each range of the dip
      readings, steps
      call    why to call the grower, or empty
  products    ids of what is poured
  stop        when to stop and call
refused     sentences: tables that could not be made
written     sentences: files that were written
person      who walks, or null
  id, name, role
"""
_PLAN_KEYS = """
format       1
reservoirs   what to prepare for each
  reservoir     its id
  top_up        a sheet as `rounds mix` has it, or null
  change_out    the same for renewing it, or null
  bottles       portions of A and B, or null
    pairs, a_ml, b_ml, text
  said          sentences
person       who walks, or null
  id, name, role
"""
_REPORT_KEYS = """
format     1
from, to   first and last day
still_to_sort, not_done, out_of_band_or_not_well, poured
how_predictions_held
stock_used, notes, carried_over, questions_to_the_helper, walked
           each of these nine is a list of sentences
person     who walks, or null
  id, name, role
"""
_BACK_KEYS = """
format    1
written   the file that was written
files     what is in it
person    who walks, or null
  id, name, role
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("relief", help="sheets and bundles for a helper")
    add_farm(parser)
    add_person(parser)
    parser.add_argument("--for", dest="name", metavar="NAME", help="who takes over (default: the first helper)")
    parser.add_argument("--from", dest="first", metavar="DAY", help="first day away (default: tomorrow)")
    parser.add_argument("--to", dest="last", metavar="DAY", help="last day away (default: six days after the first)")
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="write the relief sheet as PDF")
    parser.add_argument("--html", type=Path, metavar="FILE", help="write the relief sheet as HTML")
    parser.add_argument("--bundle", type=Path, metavar="FILE", help="write the farm for the helper's own laptop")
    parser.add_argument("--back", type=Path, metavar="FILE", help="write what was written down here, to hand it back")
    parser.add_argument("--font", type=Path, metavar="TTF", help="font for letters that the built-in ones lack")
    parser.add_argument("--plan", action="store_true", help="top-up tanks, change-outs and bottles to prepare")
    parser.add_argument("--report", action="store_true", help="what happened on those days, to take the rounds back")
    tell_keys(
        parser,
        {"--json": _KEYS, "--json --plan": _PLAN_KEYS, "--json --report": _REPORT_KEYS, "--json --back": _BACK_KEYS},
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write what was asked for; say what was written."""
    session = open_session(args, read_only=args.back is None and args.bundle is None)
    if not args.json and (args.report or args.plan):
        say_who_walks(session)
    with session.history:
        if args.back is not None:
            return _hand_back(session, args)
        relief = _relief(session, args)
        if args.report:
            return _report(session, relief, as_json=args.json)
        if args.plan:
            return _plan(session, relief, as_json=args.json)
        _write(session, relief, args)
    return 0


def read_date(text: str | None, option: str, default: date) -> date:
    """Read a day such as 2026-11-25.

    Raises
    ------
    BadInput
        With the form that is expected.
    """
    if text is None:
        return default
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise in_words(BadInput, "no-day", option=option, text=text[:40]) from error


def _relief(session: Session, args: argparse.Namespace) -> Relief:
    from rounds.relief.sheet import relief_for

    today = session.now().date()
    first = read_date(args.first, "--from", today if args.report else today + timedelta(days=1))
    last = read_date(args.last, "--to", first + timedelta(days=6))
    helpers = [person.id for person in session.farm.people if person.role == "helper"]
    name = args.name or next(iter(helpers), "")
    return relief_for(session, name, first, last)


def _write(session: Session, relief: Relief, args: argparse.Namespace) -> None:
    from rounds.relief.bundle import write_bundle, write_file
    from rounds.relief.sheet import relief_sheet, sheet_tables
    from rounds.trust.owning import doubt

    tables = sheet_tables(session, relief)
    sheet = relief_sheet(session, relief, tables)
    written: list[str] = []
    if args.pdf is not None:
        from rounds.relief.pdf import as_pdf

        write_file(args.pdf, as_pdf(sheet, session.now(), args.font))
        done(f"The sheet is in {args.pdf}.")
        written.append(f"The sheet is in {args.pdf}.")
    if args.html is not None:
        from rounds.relief.html import as_html

        write_file(args.html, as_html(sheet).encode("utf-8"))
        done(f"The sheet is in {args.html}.")
        written.append(f"The sheet is in {args.html}.")
    if args.bundle is not None:
        made = write_bundle(session, relief, args.bundle)
        done(f"The bundle is in {args.bundle}.")
        written.append(f"{len(made.files)} files are in {args.bundle}. On the other laptop: rounds open {args.bundle}")
        written += filter(None, [doubt(session.history)])
    refused = [each for each in tables if isinstance(each, Refused)]
    if args.json:
        _print_sheet(session, relief, tables, written)
        return
    say_who_walks(session)
    for each in refused:
        print(f"! {each}")
    print("\n".join(written) or _what_there_is(relief))


def _what_there_is(relief: Relief) -> str:
    return (
        f"A sheet for {relief.person.name}, {relief.days[0].isoformat()} to {relief.days[-1].isoformat()}, can be "
        "made. Say how: --pdf FILE, --html FILE, --bundle FILE, or --plan for what to prepare before leaving."
    )


def _print_sheet(session: Session, relief: Relief, tables: list[DoseTable | Refused], written: list[str]) -> None:
    from rounds.relief.days import due_by_day
    from rounds.relief.forms import table_form

    due = due_by_day(session, relief.days)
    print_json(
        {
            "farm": session.farm.name,
            "for": relief.person.id,
            "days": [day.isoformat() for day in relief.days],
            "due": [
                {
                    "station": each.station_id,
                    "round": each.round_name,
                    "item": each.item.id,
                    "days": sorted(day.isoformat() for day in each.days),
                }
                for each in due
            ],
            "tables": [table_form(each) for each in tables if not isinstance(each, Refused)],
            "refused": [str(each) for each in tables if isinstance(each, Refused)],
            "written": written,
            "person": person_form(session),
        }
    )


def _plan(session: Session, relief: Relief, *, as_json: bool) -> int:
    from rounds.relief.easier import easier
    from rounds.relief.forms import easier_form, easier_lines

    if session.is_helper:
        raise in_words(Refused, "growers-plan")
    found = easier(session, relief)
    if as_json:
        print_json({"reservoirs": [easier_form(each) for each in found], "person": person_form(session)})
    else:
        print("\n\n".join("\n".join(easier_lines(each)) for each in found) or "There are no reservoirs.")
    return 0


def _report(session: Session, relief: Relief, *, as_json: bool) -> int:
    from rounds.relief.taking_back import report

    made = report(session, relief.days[0], relief.days[-1])
    if as_json:
        blocks = {title.lower().replace(",", "").replace(" ", "_"): list(lines) for title, lines in made.blocks()}
        days = {"from": made.first.isoformat(), "to": made.last.isoformat()}
        print_json(days | blocks | {"person": person_form(session)})
        return 0
    for title, lines in made.blocks():
        print(f"{title}: {'none' if not lines else ''}".rstrip())
        print("".join(f"  {line}\n" for line in lines), end="")
    return 0


def _hand_back(session: Session, args: argparse.Namespace) -> int:
    from rounds.relief.bundle import write_back

    made = write_back(session, args.back)
    done(f"What was written down here is in {args.back}.")
    if args.json:
        form = {"written": [str(args.back)], "files": sorted(made.files)}
        print_json(form | {"person": person_form(session)})
    else:
        say_who_walks(session)
        print(f"What was written down here is in {args.back}. On the grower's laptop: rounds merge FARM {args.back}")
    return 0
