"""The command line: thin, one function per verb; the place that wires things together."""

from __future__ import annotations

import argparse
import importlib
import json
import sys
from collections.abc import Sequence

from rounds.cli import output
from rounds.cli.output import DONE, REFUSED
from rounds.errors import RoundsError

__all__ = ["DONE", "REFUSED", "WRONG_USAGE", "main"]
WRONG_USAGE = 2
VERBS = {
    "due": "what is due now, station by station",
    "matters": "what is still to sort, the worst first; and settling it",
    "card": "a walk card to print and fill in by hand",
    "enter": "write readings and checks of one station down",
    "change": "what changes slowly, and where it leads",
    "correct": "the steps that put a reservoir right",
    "history": "read or export what was written down",
    "check": "read the whole record and verify it",
    "backup": "copy the farm and its record, and verify the copy",
    "merge": "take in another device's record",
    "keys": "whose each key is, and who may say what",
    "relief": "sheets and bundles for a helper",
    "open": "open a bundle from somebody else",
    "measure": "measure the farm itself: a pump, a tub, a water",
    "markout": "lay out a channel before it is drilled",
    "mix": "the sheet for making a working acid or base",
    "schema": "the JSON Schema of one of the farm's files",
}
"""Each verb lives in the module of that name in this package, which is imported only when it is called."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns
    -------
    int
        0 done, 1 refused or not found, 2 wrong usage.
    """
    if argv is None:
        from rounds.cli.stopping import stand_by

        stand_by()
    with output.speaking() as voice:
        try:
            return output.ended(voice, _answer(list(sys.argv[1:] if argv is None else argv)))
        except output.CannotSay as error:
            if argv is None:
                output.give_up_standard_output()
            return output.unsaid(error)


def _answer(words: list[str]) -> int:
    try:
        args = _parse(words)
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else WRONG_USAGE
    try:
        return int(args.run(args))
    except RoundsError as error:
        _tell(error, as_json=getattr(args, "json", False) is True)
        return REFUSED


def _parse(words: list[str]) -> argparse.Namespace:
    if words and words[0] in VERBS:
        parser = argparse.ArgumentParser(prog="rounds", allow_abbrev=False)
        verbs = parser.add_subparsers(required=True)
        importlib.import_module(f"rounds.cli.{words[0]}").add(verbs)
        return parser.parse_args(words)
    return _opening_parser().parse_args(words)


def _opening_parser() -> argparse.ArgumentParser:
    from rounds.cli import opening

    listed = "\n".join(f"  rounds {verb:<9} {what}" for verb, what in VERBS.items())
    parser = argparse.ArgumentParser(
        prog="rounds",
        description="Walk the rounds of a small mixed farm.",
        epilog=f"other commands, each with --help:\n{listed}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    opening.fill(parser)
    return parser


def _tell(error: RoundsError, *, as_json: bool) -> None:
    if as_json:
        told = {"code": error.code, "sentence": error.sentence, "hint": error.hint}
        output.print_form(json.dumps({"format": 1, "error": told}, ensure_ascii=False))
    else:
        print(error, file=sys.stderr)
