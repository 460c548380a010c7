"""What is wrong in a story. A make says what each means in its own terms."""

from __future__ import annotations

HEALTHY = "healthy"
FAULTS = {
    "bottle-x3": "acid and base are three times as strong as the label says",
    "bottle-x10": "ten times as strong",
    "decimal-slip": "the strength was entered ten times too low",
    "meter+0.5": "the pH meter shows 0.5 too much; every second one only in the reservoir's own water, not in buffer",
    "meter+0.8": "the same by 0.8",
    "stuck-meter": "the pH meter shows the same in everything",
    "slope-0.8": "the pH meter shows four fifths of each step away from 7",
    "swapped": "acid and base have changed places",
    "hard-top-up": "hard water is missing, and the first readings are more than 1 too high",
    "dead-corner": "a third to a half of the tank hardly moves",
    "other-water": "what is topped up is another water than told: hard for soft, or soft for hard",
}
STORIES = (HEALTHY, *FAULTS)


def named(story: str) -> str:
    """The story of that name.

    Raises
    ------
    ValueError
        Where there is none, naming those there are.
    """
    if story not in STORIES:
        raise ValueError(f"there is no story {story!r}: expected one of {', '.join(STORIES)}")
    return story
