"""Which keys count that were typed before their screen could be seen."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

PAUSE_S = 0.25
"""So long without a key ends a burst. [s]"""


@dataclass(slots=True)
class TypedAhead:
    """Lets text through whole; leaves out a command for what nobody saw, with all that follows it in one burst."""

    seen_at: float = -inf
    """When the screen in front could be seen first. [s]"""
    _last_at: float = -inf
    _leaving_out: bool = False

    def lets_through(self, at: float, *, is_text: bool) -> bool:
        """Decide about one key.

        Parameters
        ----------
        at : float
            When it was typed, by a clock that never goes back. [s]
        is_text : bool
            Whether it only changes what stands on a line.
        """
        paused = at - self._last_at >= PAUSE_S
        self._last_at = at
        self._leaving_out = (self._leaving_out and not paused) or (not is_text and at < self.seen_at)
        return not self._leaving_out

    def leave_out(self) -> None:
        """Nothing of the burst under way counts any more."""
        self._leaving_out = True
