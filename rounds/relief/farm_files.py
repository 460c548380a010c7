"""The farm's own files in a bundle: held to strict rules where it is made and where it is opened."""

from __future__ import annotations

from typing import Any

import msgspec

from rounds.checklist.model import Checklist
from rounds.errors import BadInput
from rounds.farm.feeds import FeedsFile
from rounds.farm.model import FarmFile
from rounds.farm.shelf import ShelfFile
from rounds.text import clean_line, is_clean
from rounds.toml_bounds import MOST_BYTES, loads

FARM_FILES = ("farm.toml", "feeds.toml", "shelf.toml")
_DEPTH = 12
_MODELS: dict[str, type[Any]] = {"farm.toml": FarmFile, "feeds.toml": FeedsFile, "shelf.toml": ShelfFile}


def check_toml(name: str, data: bytes) -> None:
    """Hold a file to the rules.

    Raises
    ------
    BadInput
        With the file and what is wrong in it.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(f"{name} in the bundle is {len(data)} bytes long.", f"At most {MOST_BYTES} are taken in.")
    try:
        raw = loads(data.decode("utf-8-sig"))
    except ValueError as error:
        raise BadInput(f"{name} in the bundle is not sound TOML: {clean_line(str(error))}.") from error
    _check_tree(name, raw, _DEPTH)
    try:
        msgspec.convert(raw, _MODELS.get(name, Checklist), strict=True)
    except (msgspec.ValidationError, OverflowError) as error:
        raise BadInput(f"{name} in the bundle is not as it should be: {clean_line(str(error))}.") from error


def _check_tree(name: str, value: Any, left: int) -> None:
    if left < 0:
        raise BadInput(f"{name} in the bundle is nested too deep.")
    if isinstance(value, str) and not is_clean(value):
        raise BadInput(f"{name} in the bundle holds characters that a terminal would obey.")
    if isinstance(value, dict):
        for key in value:
            _check_tree(name, key, left)
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    for each in inner:
        _check_tree(name, each, left - 1)
