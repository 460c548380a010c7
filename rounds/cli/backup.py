"""`rounds backup FARM DIR`: copy the farm and its record, and verify the copy."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from rounds.cli.farm_arguments import add_farm, print_json
from rounds.cli.json_keys import tell_keys
from rounds.cli.output import done
from rounds.errors import RoundsError
from rounds.farm.farm import Farm
from rounds.farm.usable import refusal
from rounds.walk.sound_farm import farm_of

_KEYS = """
format    1
folder    where the copy is
files     how many
bytes     how many
records   how many
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("backup", help="copy the farm and its record, and verify the copy")
    add_farm(parser)
    parser.add_argument("to", type=Path, metavar="DIR", help="a folder on another disk or stick")
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Make one backup."""
    from rounds.history.backup import backup

    farm = farm_of(args.farm)
    refused = refusal(farm) or (farm.mistakes[0] if farm.as_of else None)
    if refused is not None:  # what was written down is worth its copy all the same
        print(f"! {refused}", file=sys.stderr)
    _sign(farm)
    made = backup(args.farm, args.to)
    done(" ".join(made.sentences))
    if args.json:
        print_json({"folder": str(made.folder), "files": made.files, "bytes": made.bytes, "records": made.records})
    else:
        print("\n".join(made.sentences))
    return 0


def _sign(farm: Farm) -> None:
    """Sign what was written here, so that a backup brings it back as the grower's; else it is copied as it is."""
    from rounds.history.store import History
    from rounds.trust.signing import sign
    from rounds.walk.session import system_clock
    from rounds.walk.walker import WALKING_FILE

    if not (farm.folder / "history").is_dir():
        return
    name = "" if (farm.folder / WALKING_FILE).exists() else farm.name
    try:
        with History.open(farm.folder / "history", farm_name=name) as history:
            sign(history, system_clock())
    except RoundsError as error:
        print(f"! What was written is copied unsigned: {error}", file=sys.stderr)
