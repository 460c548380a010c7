"""Tanks of plain water."""

from __future__ import annotations

from rounds.farm.field_types import Id
from rounds.farm.vessel import Vessel


class Tank(Vessel, frozen=True, kw_only=True, tag_field="kind", tag="tank"):
    """A tank of plain water."""

    REFERENCES = {"water": "waters"}

    water: Id
