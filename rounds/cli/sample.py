"""A scratch copy of the sample farm that opens on today's morning, with a history that ends yesterday."""

from __future__ import annotations

import tempfile
from datetime import date
from pathlib import Path

from rounds.history.store import History
from rounds.resources import sample_generator


def scratch_sample(today: date | None = None) -> Path:
    """Copy the sample farm into a new folder, all its dates moved, and write its four months of history.

    Returns
    -------
    Path
        The folder of the scratch farm.
    """
    farm = Path(tempfile.mkdtemp(prefix="rounds-sample-")) / "farm"
    sample_generator().lay_out(farm, until=today or date.today())
    with History.open(farm / "history"):
        return farm
