"""JSON Schemas of the farm's files, generated from their models, so that editors complete and check them."""

from __future__ import annotations

from typing import Any

import msgspec

from rounds.errors import NotFound
from rounds.farm.feeds import FeedsFile
from rounds.farm.model import FarmFile
from rounds.farm.shelf import ShelfFile

FILES: dict[str, type[msgspec.Struct]] = {"farm.toml": FarmFile, "feeds.toml": FeedsFile, "shelf.toml": ShelfFile}


def schema_of(file: str) -> dict[str, Any]:
    """The JSON Schema (2020-12) of one of the farm's files.

    Raises
    ------
    NotFound
        For a file that has none.
    """
    if file not in FILES:
        raise NotFound(f"There is no schema for “{file[:40]}”.", f"There are schemas for {', '.join(FILES)}.")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": file} | msgspec.json.schema(FILES[file])
