"""What cannot be settled, in words: all errors of this room, by code."""

from __future__ import annotations

from rounds.errors import ErrorTexts

_NOTHING = "Nothing is written."

in_words = ErrorTexts(
    {
        "nothing-here": ("Nothing is still to sort at {place}.", _NOTHING),
        "no-such": ("Nothing that is still to sort is called “{word}”.", "It is: {known}. " + _NOTHING),
        "no-reason": ("It is not settled without a reason.", "Say what was done, such as fixed inlet cleaned."),
        "no-waiting": ("People and animals do not wait: {what}.", "It stays on the list. " + _NOTHING),
        "no-half-pair": ("Half a pair does not wait: {what}.", "Pour the other half. " + _NOTHING),
        "does-not-wait": ("That can't be left for later: {what}.", _NOTHING),
        "not-today": ("It is back on a day to come, not today.", "Such as later thu, later 3 dec. " + _NOTHING),
        "no-pair": ("The other half is no longer owed.", _NOTHING),
    }
)
