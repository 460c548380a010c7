"""Ferments: casks, jars and crocks, and how far they have come."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from msgspec import Meta

from rounds.farm.field_types import Line, Litres
from rounds.farm.station_base import Answers, StationBase

Gravity = Annotated[float, Meta(ge=0.99, le=1.2, description="specific gravity from 0.99 to 1.2")]


class Ferment(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="ferment"):
    """Something that ferments in a cask, a jar or a crock."""

    ANSWERS_DAYS = 14

    what: Line
    volume_l: Litres
    started_on: date | None = None
    original_gravity: Gravity | None = None

    def figures(self, answers: Answers) -> tuple[str, ...]:
        """The alcohol so far, from the gravity at the start and the one read last."""
        from rounds.science.ferment import alcohol_percent_balling

        read = [each.number for each in answers.get("gravity", ()) if each.number is not None]
        if self.original_gravity is None or not read or read[-1] > self.original_gravity:
            return ()
        return (f"about {alcohol_percent_balling(self.original_gravity, read[-1]):.1f} % alcohol",)
