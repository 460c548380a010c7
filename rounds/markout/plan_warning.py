"""A warning about a plan."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWarning:
    """One thing to think over: a short code for programs, what is so, and why it matters."""

    code: str
    sentence: str
    reason: str


def warn(code: str, sentence: str, reason: str) -> PlanWarning:
    """A warning from its three parts."""
    return PlanWarning(code=code, sentence=sentence, reason=reason)
