"""`rounds schema FILE`: the JSON Schema of one of the farm's files."""

from __future__ import annotations

import argparse
import json
from typing import Any

from rounds.checklist.schema import NAME, checklist_schema
from rounds.cli.output import print_form
from rounds.farm.schema import FILES, schema_of


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("schema", help="the JSON Schema of one of the farm's files")
    parser.add_argument("file", metavar="FILE", help=", ".join([*FILES, NAME]))
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the schema."""
    schema = checklist_schema() if args.file == NAME else schema_of(args.file)
    print_form(json.dumps(schema, indent=2, ensure_ascii=False))
    return 0
