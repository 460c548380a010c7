"""The form every mix sheet has: what is poured in which order, what to beware of, and what goes on the label."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

FORMAT = 1
"""Version of the JSON form. Keys may be added without raising it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MixStep:
    """One thing to do, with an amount where something is poured or weighed."""

    text: str
    what: str = ""
    """Id of a product or water, or the name of a salt."""
    amount: float = 0.0
    unit: str = ""

    def to_json(self) -> dict[str, Any]:
        """The step by name."""
        return {"text": self.text, "what": self.what, "amount": round(self.amount, 4), "unit": self.unit}


@dataclass(frozen=True, slots=True, kw_only=True)
class MixSheet:
    """A sheet to hold in the hand while mixing. Cautions come first on it."""

    kind: str
    title: str
    cautions: tuple[str, ...] = ()
    steps: tuple[MixStep, ...] = ()
    label: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    figures: Mapping[str, float] = field(default_factory=dict)
    """What was worked out, by a name that ends in its unit."""

    def to_json(self) -> dict[str, Any]:
        """The sheet in its versioned form."""
        return {
            "format": FORMAT,
            "kind": self.kind,
            "title": self.title,
            "cautions": list(self.cautions),
            "steps": [step.to_json() for step in self.steps],
            "label": list(self.label),
            "notes": list(self.notes),
            "figures": {name: round(value, 5) for name, value in self.figures.items()},
        }

    def as_lines(self) -> list[str]:
        """The sheet as plain lines for a terminal or for paper."""
        lines = [self.title, "", *(f"! {caution}" for caution in self.cautions)]
        lines += ["", *(f"{number}. {step.text}" for number, step in enumerate(self.steps, 1))]
        if self.label:
            lines += ["", "On the label:", *(f"  {line}" for line in self.label)]
        if self.notes:
            lines += ["", *(f"· {note}" for note in self.notes)]
        return lines


def days_text(days: float) -> str:
    """Days as people say them.

    Examples
    --------
    >>> days_text(1), days_text(7)
    ('1 day', '7 days')
    """
    return f"{days:g} day" + ("" if days == 1 else "s")
