"""One tape for all of it: inches and millimetres in one plan are a mistake that is drilled before it is seen."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from rounds.markout.fields import BY_NAME
from rounds.markout.mistakes import InputMistake
from rounds.markout.reading_fields import SLOPE

_INCHES = re.compile(r"(?<=[0-9\s])(in|inch|inches|ft|foot|feet|\"|')(?![a-zA-Z])", re.IGNORECASE)
_METRIC = re.compile(r"(?<=[0-9\s])(mm|cm|dm|m)(?![a-zA-Z])")
_TAPE = (
    "length",
    "section",
    "slope",
    "wall",
    "spacing",
    "pot",
    "hole",
    "first_site",
    "outlet_clearance",
    "inspection",
    "supports",
    "ground",
    "string",
    "lowest_packer",
)


def mixed_units(texts: Mapping[str, str]) -> list[InputMistake]:
    """Say which fields are in inches and which are not, where both are typed."""
    typed = {name: text for name in _TAPE if (text := texts.get(name) or "")}
    inch, metric, bare = (_typed_so(typed, is_so) for is_so in (_is_inch, _is_metric, _is_bare))
    if not inch or not metric + bare:
        return []
    others = [f"{_labels(metric)} in metric units"] if metric else []
    others += [f"{_labels(bare)} without a unit (read as metric)"] if bare else []
    return [InputMistake(
        field=inch[0],
        sentence=f"Inches and millimetres are mixed: {_labels(inch)} in inches or feet, {', '.join(others)}.",
        hint="One tape for all of it is expected.",
    )]  # fmt: skip


def _typed_so(typed: Mapping[str, str], is_so: Callable[[str, str], bool]) -> list[str]:
    return [name for name, text in typed.items() if is_so(name, text)]


def _is_inch(_: str, text: str) -> bool:
    return bool(_INCHES.search(text)) and not SLOPE.match(text.strip())


def _is_metric(_: str, text: str) -> bool:
    return bool(_METRIC.search(text))


def _is_bare(name: str, text: str) -> bool:
    text = text.strip()
    counts = name == "supports" and re.fullmatch(r"[0-9]+", text)
    ratio = name == "slope" or not re.search(r"[1-9]", text)
    return bool(text) and not counts and not ratio and not re.search(r"[a-wyzA-WYZ\"']", text)


def _labels(names: list[str]) -> str:
    return ", ".join(BY_NAME[name].label.lower() for name in names)
