"""`rounds merge FARM OTHER`: take in another device's record, after showing what it holds."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rounds.cli.farm_arguments import add_farm, open_session, print_json
from rounds.cli.json_keys import tell_keys
from rounds.cli.output import done

if TYPE_CHECKING:
    from rounds.history.merge import MergePreview

MOST_LISTED = 40
WHO_MAY = """\
who may say what:
  What a key of the grower's stands for comes in. Everybody else may add, and put right what is their own and of
  their days. The rest is refused and listed: by whom, what, why. Take in what you have looked at, one by one, with
  --take ID. `rounds keys FARM` shows the keys.
"""
_KEYS = """
format      1
new         how many records are not here yet
known       how many are here already
replaced    how many of the new ones replace a record
conflicts   ids of records that both sides replaced
refused     records that are not taken in: then the exit code is 1
  id, sentence
  device, what    who would have brought it in, and what it says
  may_be_taken    whether --take ID takes it in all the same
sentences   all of it in words
taken       how many were taken in: none without --yes
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser(
        "merge",
        help="take in another device's record",
        epilog=WHO_MAY,
    )
    add_farm(parser)
    parser.add_argument("other", type=Path, metavar="OTHER", help="a farm folder, a backup, a history or a bundle")
    parser.add_argument("--yes", action="store_true", help="take it in without asking")
    parser.add_argument("--preview", action="store_true", help="only show what would be taken in")
    parser.add_argument(
        "--take",
        action="append",
        default=[],
        metavar="ID",
        help="take in this record although it is not for whoever wrote it to write, or all that a device brings",
    )
    parser.add_argument("--same", action="store_true", help="say that OTHER is of this same farm, whatever its id")
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Preview, ask, take in; 1 where anything was refused."""
    from rounds.relief.handed_over import looked_at

    session = open_session(args)
    with session.history:
        found = looked_at(session, args.other, take=args.take, same=args.same)
        wanted = not args.preview and (args.yes or _asked(found, as_json=args.json))
        taken = session.gate.merge(found) if wanted else 0
    if taken:
        done(f"{taken} records were taken in.")
    if args.json:
        print_json(_form(found, taken))
    else:
        if args.yes or args.preview:
            print("\n".join((*found.sentences, *_refused(found))))
        print(f"{taken} records were taken in." if wanted else "Nothing was taken in.")
    return 1 if found.refused else 0


def _form(found: MergePreview, taken: int) -> dict[str, Any]:
    refused = [
        {"id": r.id, "sentence": r.sentence, "device": r.device, "what": r.what, "may_be_taken": r.may_be_taken}
        for r in found.refused
    ]
    return {
        "new": len(found.new),
        "known": found.known,
        "replaced": len(found.replaced),
        "conflicts": list(found.conflicts),
        "refused": refused,
        "sentences": list(found.sentences),
        "taken": taken,
    }


def _refused(found: MergePreview) -> list[str]:
    """What is refused, a line each with its id: by whom, what, why."""
    if not found.refused:
        return []
    lines = [
        f"! {each.id}{f'  from {each.device}: {each.what}.' if each.what else ''}  {each.sentence}"
        for each in found.refused[:MOST_LISTED]
    ]
    more = len(found.refused) - len(lines)
    lines += [f"! and {more} more: --json lists all of them."] if more else []
    may = any(each.may_be_taken for each in found.refused)
    return [*lines, "! After a look at each: rounds merge FARM OTHER --take ID takes it in."] if may else lines


def _asked(found: MergePreview, *, as_json: bool) -> bool:
    if as_json or not sys.stdin.isatty() or not (found.new or found.refused):
        return False
    print("\n".join((*found.sentences, *_refused(found))))
    return bool(found.new) and input("Take in what is new? y/n ").strip().casefold() in ("y", "yes")
