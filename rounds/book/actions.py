"""What a step of a correction can do, and what follows from that."""

from __future__ import annotations

from typing import Literal

Action = Literal[
    "top_up", "concentrate_a", "concentrate_b", "concentrate_c", "concentrate_d", "acid", "base", "drain_off",
    "change_out", "circulate", "recheck", "read_again", "buffer_dip", "buffer_4", "jar_test", "strip", "look",
]  # fmt: skip
FED = frozenset({"concentrate_a", "concentrate_b", "concentrate_c", "concentrate_d"})
POURED: frozenset[str] = FED | {"top_up", "acid", "base", "change_out"}
"""Actions that put something into the reservoir, and so ask what was really added."""
MEASURED = POURED | {"drain_off"}
"""Actions with an amount that is written down as it really was."""
WATER = frozenset({"top_up", "change_out", "drain_off"})
"""Actions whose amount is in litres where no unit stands beside it; all others are in millilitres."""
ASKED = frozenset({"jar_test", "buffer_4", "strip"})
"""Actions that ask for one more reading, whose answer allows a larger dose."""
LONGEST_WAIT_H = 6.0
"""No wait between two steps is longer: where three turnovers take longer, the pump is too small. [h]"""
