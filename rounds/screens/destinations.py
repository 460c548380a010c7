"""The screen for each place that the guide leads to."""

from __future__ import annotations

from typing import Any

from textual.screen import Screen

from rounds.screens.correction import CorrectionScreen
from rounds.screens.station import StationScreen
from rounds.screens.summary import SummaryScreen
from rounds.walk.guide import Destination, Guide, TheSummary
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.stops import Stop
from rounds.walk.visit import Visit


def screen_for(destination: Destination, guide: Guide, line: str = "") -> Screen[Any] | None:
    """Build the screen of a destination; None for the walk, which is there already.

    Parameters
    ----------
    line : str
        What was typed for a station already, on another screen.
    """
    match destination:
        case Stop():
            visit = Visit(session=guide.session, stop=destination, round_id=guide.round_id)
            right = f"{destination.number} of {destination.of}" if destination.number else guide.round_name
            return StationScreen(visit, right=right, line=line)
        case OpenCorrection():
            return CorrectionScreen(guide.session, destination, right=guide.round_name, round_id=guide.round_id)
        case TheSummary():
            return SummaryScreen(guide.session, destination.round)
    return None
