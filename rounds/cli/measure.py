"""`rounds measure FARM [WHAT] [OF]`: a number of the farm itself measured, question by question."""

from __future__ import annotations

import argparse
from typing import Any

from rounds.cli.farm_arguments import add_farm, add_person, open_session, print_json
from rounds.cli.json_keys import tell_keys
from rounds.walk.session import Session

_KEYS = """
format         1
numbers        what can be measured
  what         as it is named here
  of           id of its station, water or feed
  name         of that
  value, sd, unit   what was measured, or null
  how          by what, or null
  measured_at  when, or null
  filed        what the farm's files say, in words
  begun        true where a measurement was begun and not ended
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("measure", help="measure the farm itself: a pump, a tub, a water")
    add_farm(parser)
    parser.add_argument("what", nargs="?", metavar="WHAT", help="without it: what was measured and what is a guess")
    parser.add_argument(
        "of", nargs="?", default="", metavar="OF", help="which pump, tub or water, where there are several"
    )
    add_person(parser)
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Ask and answer; or list the numbers."""
    if args.what is None or args.json:
        session = open_session(args, read_only=True)
        _list(session, args.what, as_json=args.json)
        return 0
    from rounds.cli.plain import run as talk
    from rounds.walk.dialogue import ToMeasure
    from rounds.walk.measuring.kinds import kind_named, subject_of
    from rounds.walk.measuring.leading import at_measurement

    session = open_session(args)
    kind = kind_named(args.what)
    to = ToMeasure(kind.what, subject_of(session.farm, kind, args.of).id)
    return talk(session, lambda: at_measurement(session, to, None))


def _list(session: Session, what: str | None, *, as_json: bool) -> None:
    from rounds.walk.measuring.kinds import kind_named
    from rounds.walk.measuring.listing import Number, numbers

    wanted = None if what is None else kind_named(what).what
    found = [each for each in numbers(session) if wanted in (None, each.what)]

    def form(each: Number) -> dict[str, Any]:
        known = each.known
        return {
            "what": each.what,
            "of": each.of,
            "name": each.name,
            "value": known and known.value,
            "sd": known and known.sd,
            "unit": known and known.unit,
            "how": known and known.how,
            "measured_at": known and known.at.isoformat(),
            "filed": each.filed,
            "begun": each.begun,
        }

    if as_json:
        print_json({"numbers": [form(each) for each in found]})
        return
    for each in found:
        print(each.text)
    print("`rounds measure FARM WHAT [OF]` measures one of them.")
