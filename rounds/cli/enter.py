"""`rounds enter FARM STATION LINE`: write readings and checks of one station down, or what was done there."""

from __future__ import annotations

import argparse
import sys
from datetime import date, datetime, timedelta
from typing import Any

from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import add_farm, add_person, open_session, print_json, read_day, say_who_walks
from rounds.cli.json_keys import tell_keys
from rounds.cli.output import done
from rounds.errors import BadInput
from rounds.walk.doings.at_once import save_at_once, understood_at_once
from rounds.walk.doings.model import Place, Understood
from rounds.walk.questions import doubted
from rounds.walk.round import current_round, open_round
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.visit import Taken, Visit
from rounds.walk.walker import person_form

LONGEST_AGO = timedelta(days=31)
FARM_AS_A_WHOLE = "farm"

_KEYS = """
format     1
saved      what is written down now
  id, item, value, unit
  verdict, text   how it was judged, a word and a sentence; of a doing "done"
doubtful   what is hard to believe; it was not written down
  item, value, text
  likely   what may have been meant, or null
problems   sentences: what could not be read
person     who walks, or null
  id, name, role
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("enter", help="write readings, checks and what was done down")
    add_farm(parser)
    parser.add_argument("station", metavar="STATION", help=f"its id; {FARM_AS_A_WHOLE} is the farm as a whole")
    parser.add_argument(
        "line", metavar="LINE", help='such as "ph 6.4 ec 1.9 t 21 dip 31cm", "wilt", or a verb first: "topped 20"'
    )
    parser.add_argument("--at", metavar="TIME", help="when it was measured (default: now), such as 2026-11-25T07:10")
    parser.add_argument("--keep", action="store_true", help="save unusual readings without asking")
    parser.add_argument(
        "--yes", action="store_true", help="save a doing though it is hard to believe, or a second time"
    )
    add_person(parser)
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write one line down and print the ids, which are durable then."""
    session = open_session(args)
    with session.history:
        name = current_round(session)
        walk = open_round(session, name)
        if args.station == FARM_AS_A_WHOLE:
            at = _moment(args.at, session) or session.now()
            place = Place(session=session, station=None, at=at, round_id=walk.id if walk else None)
            return _doing(place, args)
        visit = Visit(
            session=session,
            stop=stop_at(session, name, args.station, everything=True),
            round_id=walk.id if walk else None,
            at=_moment(args.at, session),
        )
        understood = understood_at_once(visit.place, args.line)
        if understood is not None:
            return _save(visit.place, understood, args)
        taken = visit.take_line(args.line)
        if args.keep:
            taken = _kept(visit, taken)
    code = 1 if taken.problems or taken.doubtful else 0
    if taken.saved:
        done(_in_short(taken), code)
    _print(session, taken, as_json=args.json)
    return code


def _doing(place: Place, args: argparse.Namespace) -> int:
    """What was done on the farm as a whole: a line without a verb means nothing there."""
    understood = understood_at_once(place, args.line)
    if understood is None:
        raise in_words(BadInput, "no-verb", line=args.line[:40])
    return _save(place, understood, args)


def _save(place: Place, understood: Understood, args: argparse.Namespace) -> int:
    """Save a doing and say what was understood."""
    records, sentence = save_at_once(place, understood, sure=args.yes)
    done(f"The entry was saved: {sentence}.", 0)
    if args.json:
        saved = [
            {"id": r.id, "item": r.item, "value": r.value, "unit": r.unit, "verdict": "done", "text": sentence}
            for r in records
        ]
        print_json({"saved": saved, "doubtful": [], "problems": [], "person": person_form(place.session)})
        return 0
    say_who_walks(place.session)
    print(f"{records[0].id}  {sentence}")
    if understood.now_do:
        print(f"! {understood.now_do}", file=sys.stderr)
    return 0


def _moment(text: str | None, session: Session) -> datetime | None:
    if text is not None and _is_bare_day(text):
        raise in_words(BadInput, "day-without-time", text=text[:40])
    at = read_day(text, session, "--at")
    if at is not None and not session.now() - LONGEST_AGO <= at <= session.now() + timedelta(minutes=1):
        raise in_words(BadInput, "too-long-ago", at=f"{at:%Y-%m-%d %H:%M}", days=LONGEST_AGO.days)
    return at


def _is_bare_day(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def _kept(visit: Visit, taken: Taken) -> Taken:
    kept = [visit.keep(answer) for answer in taken.doubtful]
    return Taken(
        saved=taken.saved + tuple(pair for each in kept for pair in each.saved),
        problems=taken.problems + tuple(problem for each in kept for problem in each.problems),
    )


def _form(taken: Taken) -> dict[str, Any]:
    saved = [
        {"id": r.id, "item": r.item, "value": r.value, "unit": r.unit, "verdict": j.verdict, "text": j.text}
        for r, j in taken.saved
    ]
    doubtful = [
        {"item": a.item.id, "value": a.value, "text": a.judgement.text, "likely": a.judgement.likely}
        for a in taken.doubtful
    ]
    return {"saved": saved, "doubtful": doubtful, "problems": list(taken.problems)}


def _in_short(taken: Taken) -> str:
    """What was saved and what was not, where the answer itself cannot be shown."""
    saved = ", ".join(f"{r.item} {'' if r.value is None else r.value}".rstrip() for r, _ in taken.saved)
    left_out = [*(f"{each.item.label} {doubted(each)}" for each in taken.doubtful), *taken.problems]
    return f"The entry was saved: {saved}.{''.join(f' Not saved: {each}.' for each in left_out)}"


def _print(session: Session, taken: Taken, *, as_json: bool) -> None:
    not_saved = [f"{each.item.label} {doubted(each)}" for each in taken.doubtful]
    if as_json:
        print_json(_form(taken) | {"person": person_form(session)})
        return
    if taken.saved:
        say_who_walks(session)
    for record, judgement in taken.saved:
        print(f"{record.id}  {record.item} {record.value} {record.unit or ''}".rstrip() + f"  {judgement.text}")
    for problem in taken.problems:
        print(f"not saved: {problem}", file=sys.stderr)
    for text in not_saved:
        print(f"not saved: {text}. Type it again, or --keep writes it down as it is.", file=sys.stderr)
