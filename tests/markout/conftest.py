import pytest

from rounds.markout.plan import plan
from rounds.markout.typed import read

SHORT = {
    "length": "4.2m", "section": "120x60mm", "slope": "1:40", "spacing": "250mm", "hole": "50mm",
    "first_site": "150mm", "outlet_clearance": "80mm", "flow": "1.2L/min", "supports": "4",
}  # fmt: skip
FULL = SHORT | {
    "crop": "strawberry", "pot": "55mm", "inspection": "200mm", "channels": "6", "room": "4m", "reservoir_full": "300L",
    "reservoir_working": "250L", "lift": "1.1m", "pump": "0:4,10:3,20:0", "supply_pipe": "16mm:6m", "header": "16mm",
    "inlet_tube": "4mm:0.5m", "return_pipe": "50mm:4m", "ground": "0,12,-5,8mm",
}  # fmt: skip


@pytest.fixture
def typed():
    """The short form that must work, to be changed at will."""
    return dict(SHORT)


@pytest.fixture
def full():
    """A form with everything in it."""
    return dict(FULL)


@pytest.fixture
def planned():
    """Works a plan out from the short form and changes to it."""
    return lambda **changes: plan(read(SHORT | changes))
