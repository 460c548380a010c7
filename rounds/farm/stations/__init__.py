"""One module for each kind of station. Those that the house must know by class can be had here by name."""

from rounds.farm.station_base import StationBase
from rounds.farm.stations.channel import Channel
from rounds.farm.stations.hens import Flock
from rounds.farm.stations.reservoir import Reservoir
from rounds.farm.stations.tank import Tank
from rounds.farm.vessel import Box, LyingCylinder, Shape, UprightCylinder, Vessel

__all__ = [
    "Box",
    "Channel",
    "Flock",
    "LyingCylinder",
    "Reservoir",
    "Shape",
    "StationBase",
    "Tank",
    "UprightCylinder",
    "Vessel",
]
