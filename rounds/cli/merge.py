"""`rounds merge FARM OTHER`: take in another device's record, after showing what it holds."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from rounds.cli.farm_arguments import add_farm, open_session, print_json
from rounds.cli.json_keys import tell_keys
from rounds.cli.output import done

_KEYS = """
format      1
new         how many records are not here yet
known       how many are here already
replaced    how many of the new ones replace a record
conflicts   ids of records that both sides replaced
refused     records that are not taken in
  id, sentence
sentences   all of it in words
taken       how many were taken in: none without --yes
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("merge", help="take in another device's record")
    add_farm(parser)
    parser.add_argument("other", type=Path, metavar="OTHER", help="a farm folder, a backup, a history or a bundle")
    parser.add_argument("--yes", action="store_true", help="take it in without asking")
    parser.add_argument("--preview", action="store_true", help="only show what would be taken in")
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Preview, ask, take in."""
    from rounds.history.merge import preview
    from rounds.relief.opening import is_bundle
    from rounds.relief.taking_back import returned

    session = open_session(args)
    with session.history as history:
        found = returned(session, args.other) if is_bundle(args.other) else preview(history, args.other)
        wanted = not args.preview and (args.yes or _asked(found.sentences, len(found.new), as_json=args.json))
        taken = session.gate.merge(found) if wanted else 0
    if taken:
        done(f"{taken} records were taken in.")
    if args.json:
        print_json(
            {
                "new": len(found.new),
                "known": found.known,
                "replaced": len(found.replaced),
                "conflicts": list(found.conflicts),
                "refused": [{"id": each.id, "sentence": each.sentence} for each in found.refused],
                "sentences": list(found.sentences),
                "taken": taken,
            }
        )
        return 0
    if args.yes or args.preview:
        print("\n".join(found.sentences))
    print(f"{taken} records were taken in." if wanted else "Nothing was taken in.")
    return 0


def _asked(sentences: tuple[str, ...], new: int, *, as_json: bool) -> bool:
    if as_json or not sys.stdin.isatty() or not new:
        return False
    print("\n".join(sentences))
    return input("Take them in? y/n ").strip().casefold() in ("y", "yes")
