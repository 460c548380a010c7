"""The screen for each place that the guide leads to."""

from __future__ import annotations

from typing import Any

from textual.screen import Screen

from rounds.screens.correction import CorrectionScreen
from rounds.screens.measure import MeasureScreen
from rounds.screens.station import StationScreen
from rounds.screens.summary import SummaryScreen
from rounds.walk.at_correction import AtCorrection
from rounds.walk.at_station import AtStation
from rounds.walk.at_summary import AtSummary
from rounds.walk.dialogues import dialogue_for
from rounds.walk.guide import Destination, Guide
from rounds.walk.measuring.at_measurement import AtMeasurement


def screen_for(destination: Destination, guide: Guide, line: str = "") -> Screen[Any] | None:
    """Build the screen of a destination; None for the walk, which is there already.

    Parameters
    ----------
    line : str
        What was typed for a station already, on another screen.
    """
    match dialogue_for(destination, guide):
        case AtStation() as dialogue:
            stop = dialogue.visit.stop
            right = f"{stop.number} of {stop.of}" if stop.number else guide.round_name
            return StationScreen(dialogue, right=right, line=line)
        case AtCorrection() as dialogue:
            return CorrectionScreen(dialogue, right=guide.round_name)
        case AtSummary() as dialogue:
            return SummaryScreen(dialogue)
        case AtMeasurement() as dialogue:
            return MeasureScreen(dialogue)
    return None
