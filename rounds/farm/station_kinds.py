"""The kinds of station there are: one for each module in `rounds.farm.stations`. A new module is a new kind."""

from __future__ import annotations

import operator
from collections.abc import Iterator, Mapping
from functools import reduce
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from rounds.farm import stations
from rounds.farm.station_base import StationBase


def _kinds() -> Iterator[tuple[str, type[StationBase]]]:
    files = sorted(path.name for path in Path(stations.__path__[0]).iterdir())
    for module in (file.removesuffix(".py") for file in files if file.endswith(".py") and not file.startswith("_")):
        kind = module.replace("_", "-")
        yield kind, _class_of(kind, vars(import_module(f"{stations.__name__}.{module}")))


def _class_of(kind: str, names: Mapping[str, object]) -> type[StationBase]:
    """The class of a module whose tag is the kind that the module is named for."""
    classes = (each for each in names.values() if isinstance(each, type) and issubclass(each, StationBase))
    return next(each for each in classes if each.__struct_config__.tag == kind)


STATION_KINDS: Mapping[str, type[StationBase]] = dict(_kinds())
"""The class of each kind by its name, which is the `kind` in farm.toml and names the checklist."""

if TYPE_CHECKING:
    Station = StationBase
else:
    Station = reduce(operator.or_, STATION_KINDS.values())
    """Any kind of station, as msgspec wants it for the JSON Schema."""
