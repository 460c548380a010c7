"""Lets the tests of this room share what they believe of one feed."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session")
def curve():
    """The titration curve of the feed."""
    from believed import FEED

    from rounds.belief.curve import curve_of

    return curve_of(FEED, 20.0)
