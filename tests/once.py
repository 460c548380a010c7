"""What every test would work out again, to the same end, is worked out once in a process.

Nothing here changes what is tested: the same text gives tables of its own each time, and the same style sheet the same
rules. What is private to Textual is used in this file and in `keyboard.py` alone.
"""

from __future__ import annotations

import pickle
import tomllib
from collections.abc import Callable, Hashable, Iterator
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from textual.css.model import RuleSet
    from textual.css.stylesheet import Stylesheet

MOST_TEXTS = 512
"""So many TOML texts are kept: the shipped checklists, and what tests write beside them."""


@pytest.fixture(scope="session", autouse=True)
def toml_is_read_once() -> Iterator[None]:
    """Each session of a farm reads all checklists, and reading TOML takes nine tenths of its opening."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tomllib, "loads", once_for_each_text(tomllib.loads))
        yield


@pytest.fixture(scope="session", autouse=True)
def style_sheets_are_parsed_once() -> Iterator[None]:
    """Each app, and again each screen that is opened in it first, parses the sheets of all widgets anew."""
    from textual.css.stylesheet import Stylesheet  # only rooms that drive the app take this fixture

    parse = Stylesheet._parse_rules
    parsed: dict[Hashable, list[RuleSet]] = {}

    def parsed_once(sheet: Stylesheet, *source: Hashable, **named: Hashable) -> list[RuleSet]:
        key = (source, *sorted(named.items()), frozenset(sheet._variables.items()))
        if key not in parsed:
            parsed[key] = parse(sheet, *source, **named)  # type: ignore[arg-type]
        return parsed[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Stylesheet, "_parse_rules", parsed_once)
        yield


def once_for_each_text(loads: Callable[[str], dict[str, Any]]) -> Callable[[str], dict[str, Any]]:
    """A reader that reads each text once, and gives tables that nobody else holds."""

    @lru_cache(maxsize=MOST_TEXTS)
    def packed(text: str) -> bytes:
        return pickle.dumps(loads(text))

    return lambda text: pickle.loads(packed(text))
