"""The JSON Schema of a checklist file, generated from its model, so that editors complete and check it."""

from __future__ import annotations

from typing import Any

import msgspec

from rounds.checklist.model import Checklist

NAME = "checklist"


def checklist_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of the files in `checklists/`."""
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": NAME}
    return head | msgspec.json.schema(Checklist)
