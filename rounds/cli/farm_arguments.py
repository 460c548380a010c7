"""Arguments that several verbs share, and the session they open."""

from __future__ import annotations

import argparse
import json
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from rounds.cli.error_texts import in_words
from rounds.cli.output import print_form
from rounds.errors import BadInput
from rounds.walk.session import Session

AS_HELP = (
    "who is walking (default: the first grower; in a folder that `rounds open` made, whom the bundle was made for). "
    "It says whose limits hold and whose name is written down; it is no lock"
)


def add_farm(parser: argparse.ArgumentParser) -> None:
    """The farm folder, and the form of the answer."""
    parser.add_argument("farm", type=Path, metavar="FARM", help="the folder in which farm.toml lies")
    parser.add_argument("--json", action="store_true", help="answer in JSON for programs, with a format number")


def add_person(parser: argparse.ArgumentParser) -> None:
    """Who is speaking."""
    parser.add_argument("--as", dest="person", metavar="NAME", default=argparse.SUPPRESS, help=AS_HELP)


def open_session(args: argparse.Namespace, *, read_only: bool = False) -> Session:
    """Open the farm that the arguments name; mistakes in its files and odd records are told beside the answer."""
    session = Session.open(args.farm, person_id=getattr(args, "person", None), read_only=read_only)
    session.read_all()
    if getattr(args, "json", False) is True:
        return session
    for concern in (*(mistake.told for mistake in session.mistakes), *session.history.warnings):
        print(f"! {concern}", file=sys.stderr)
    return session


def print_json(form: dict[str, Any]) -> None:
    """Print one answer in its versioned form."""
    print_form(json.dumps({"format": 1} | form, ensure_ascii=False, indent=2, allow_nan=False))


def say_who_walks(session: Session) -> None:
    """The first line of an answer in words: who walks, and what they may pour."""
    from rounds.walk.telling import matters

    for each in matters(session, "walker"):
        print(each.line)


def read_day(text: str | None, session: Session, option: str) -> datetime | None:
    """Read a day such as 2026-11-25 as its first moment in the farm's own zone.

    Raises
    ------
    BadInput
        With the form that is expected.
    """
    if text is None:
        return None
    try:
        parsed = datetime.fromisoformat(text)
    except ValueError as error:
        raise in_words(BadInput, "no-day", option=option, text=text[:40]) from error
    day = parsed.replace(tzinfo=session.zone) if parsed.tzinfo is None else parsed
    try:
        day.astimezone(UTC)
    except OverflowError as error:
        raise in_words(BadInput, "day-beyond", option=option, text=text[:40]) from error
    return day
