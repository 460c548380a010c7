"""The dialogue of each place that the guide leads to."""

from __future__ import annotations

from rounds.walk.at_correction import AtCorrection
from rounds.walk.at_station import AtStation
from rounds.walk.at_summary import AtSummary
from rounds.walk.dialogue import ToMeasure
from rounds.walk.guide import Destination, Guide, TheSummary
from rounds.walk.measuring.at_measurement import AtMeasurement
from rounds.walk.measuring.leading import at_measurement
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.stops import Stop
from rounds.walk.visit import Visit


def dialogue_for(destination: Destination, guide: Guide) -> AtStation | AtCorrection | AtSummary | AtMeasurement | None:
    """Begin the dialogue of a destination; None for the whole walk, where nothing of it goes on."""
    match destination:
        case Stop():
            return AtStation(Visit(session=guide.session, stop=destination, round_id=guide.round_id))
        case OpenCorrection():
            return AtCorrection(guide.session, destination, guide.round_id)
        case TheSummary():
            return AtSummary(guide.session, destination.round)
        case ToMeasure():
            return at_measurement(guide.session, destination, guide.round_id)
    return None
