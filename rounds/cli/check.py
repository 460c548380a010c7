"""`rounds check FARM`: read the farm's files and the whole record, and verify both copies of it."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rounds.checklist.load import load_checklists
from rounds.cli.farm_arguments import add_farm, print_json
from rounds.cli.json_keys import tell_keys
from rounds.cli.output import REFUSED, done
from rounds.errors import RoundsError
from rounds.farm.remarks import remarks_on
from rounds.farm.usable import refusal
from rounds.history.store import History
from rounds.walk.sound_farm import farm_of, with_lost

if TYPE_CHECKING:
    from rounds.farm.farm import Farm
    from rounds.history.check import CheckReport

_KEYS = """
format        1
mistakes      sentences: what is wrong in the farm's files
differences   sentences: where the files and a measurement are far apart
remarks       sentences: what is worth knowing of them
records       how many
readings      how many of them are readings
months        how many
gaps          sentences: what is missing between records
damaged       sentences: what is damaged
odd           sentences: records that are passed over in part
quarantine    files put aside
verified      true where nothing is damaged
last_backup   when, or null
repaired      sentences: what --repair did
migrated      sentences: what --migrate did
sentences     all of it in words
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("check", help="read the whole record and verify it")
    add_farm(parser)
    parser.add_argument("--repair", action="store_true", help="write damaged files anew; nothing is ever discarded")
    parser.add_argument(
        "--migrate", action="store_true", help="write the farm's files in the newest format, comments kept"
    )
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print what was found; 1 where something is not as it should be."""
    from rounds.history.check import check

    migrated = _migrated(args) if args.migrate else []
    farm, differences = _farm_and_differences(args.farm)
    mistakes, remarks = _mistakes(farm, args.farm), remarks_on(farm)
    repaired = _repaired(args) if args.repair else ()
    report = check(args.farm)
    if args.json:
        extra = {"migrated": migrated, "remarks": list(remarks), "differences": differences}
        print_json(_form(mistakes, repaired, report) | extra)
    else:
        wrong = [f"! {said}" for said in (*mistakes, *differences)]
        for line in [*migrated, *repaired, *wrong, *remarks, *report.sentences]:
            print(line)
        if not report.sound and not args.repair:
            print("`rounds check FARM --repair` writes damaged files anew from the other copy; nothing is discarded.")
    return 0 if report.sound and not mistakes else 1


def _mistakes(farm: Farm, folder: Path) -> list[str]:
    """What is wrong in the farm's files, or why they cannot be walked."""
    mistakes = [mistake.told for mistake in (*farm.mistakes, *load_checklists(folder).mistakes)]
    refused = refusal(farm)
    if refused is not None and not farm.mistakes:
        mistakes.append(str(refused))
    return mistakes


def _farm_and_differences(folder: Path) -> tuple[Farm, list[str]]:
    """The farm with what its record knows of it, the record read once; and where files and what was measured are too
    far apart, which nobody can tell where the farm cannot be walked.
    """
    from rounds.walk.measuring.differences import differences
    from rounds.walk.session import Session

    try:
        session = Session.open(folder, read_only=True)
    except (RoundsError, OSError):
        farm = farm_of(folder)
        with suppress(RoundsError, OSError), History.open(folder / "history", read_only=True) as history:
            farm = with_lost(farm, history)
        return farm, []
    with session.history:
        session.read_all()
        return session.filed, list(differences(session))


def _form(mistakes: Sequence[str], repaired: Sequence[str], report: CheckReport) -> dict[str, Any]:
    return {
        "mistakes": list(mistakes),
        "records": report.records,
        "readings": report.readings,
        "months": report.months,
        "gaps": [gap.sentence for gap in report.gaps],
        "damaged": list(report.damaged),
        "odd": list(report.odd),
        "quarantine": [str(path) for path in report.quarantine],
        "verified": report.verified,
        "last_backup": report.last_backup.at.isoformat() if report.last_backup else None,
        "repaired": list(repaired),
        "sentences": list(report.sentences),
    }


def _repaired(args: argparse.Namespace) -> tuple[str, ...]:
    from rounds.history.repair import repair

    sentences = repair(args.farm).sentences
    done(" ".join(sentences) or "Nothing had to be repaired.", REFUSED)
    return sentences


def _migrated(args: argparse.Namespace) -> list[str]:
    from rounds.farm.formats import migrate

    farm_of(args.farm)
    return [each.sentence for each in migrate(args.farm)]
