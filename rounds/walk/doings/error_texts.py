"""What is wrong with a doing that was typed, in words: all errors of this room, by code."""

from __future__ import annotations

from rounds.errors import ErrorTexts

_NOTHING = "Nothing is written."

in_words = ErrorTexts(
    {
        "near": ("“{word}” is nothing that can be typed here.", "Did you mean {near}? " + _NOTHING),
        "not-here": ("`{verb}` makes no sense at {place}.", "It is typed at {where}. " + _NOTHING),
        "two-numbers": ("Two numbers, {one} and {other}: which is meant?", "Type one, such as {example}. " + _NOTHING),
        "count": ("{number} is not a count of {what}.", "A whole number from 1 on is expected. " + _NOTHING),
        "amount": ("{number} {unit} cannot be.", "More than 0 and at most {most:.0f} {unit} is expected. " + _NOTHING),
        "unit": ("{number}: in which unit?", "Type it with {units}, such as {example}. " + _NOTHING),
        "more-than-there": ("There are only {there} {what}, not {number}.", _NOTHING),
        "no-sites": ("{number} do not fit: {planted} of the {sites} sites are planted.", _NOTHING),
        "none-there": ("There are no {what} at {place} by now.", _NOTHING),
        "not-there": ("{litres:g} L cannot be drained: about {there:.0f} L stand in {place}.", _NOTHING),
        "no-product": ("“{word}” is nothing on the shelf.", "It has: {known}. " + _NOTHING),
        "which": ("“{word}” can mean {found}.", "Type one of them. " + _NOTHING),
        "not-a-water": ("“{word}” is no water at {place}.", "It has: {known}. " + _NOTHING),
        "far-off": (
            "{shown:g} in {known} is {off:.2g} off: such a probe is not calibrated but cleaned or replaced.",
            "",
        ),
        "far-beyond": (
            "{ml:g} mL of {product} is far more than {litres:.0f} L would ever be given: at most about {most:.0f} mL.",
            "",
        ),
        "shown": ("The meter cannot show {shown:g}.", "Type what it showed, or `unknown`."),
        "answer": ("“{word}” is no answer to that.", "Type {known}."),
        "day": ("“{word}” is no day.", "Type a date such as 3 dec, a weekday, or a number of days."),
        "day-gone": ("{day} is over.", "A waiting time ends on a day that has not come, or 0 says there is none."),
        "not-yet": ("{at} has not come yet.", "Only what was done already is written down."),
        "too-long-ago": ("{at} is more than {days} days ago.", "Enter it as a note, or in the daybook."),
        "twice": ("The same was saved at {at}: {what}.", "`--yes` saves it a second time."),
        "beyond": ("{why}.", "`--yes` saves it as it is."),
        "no-change-out": ("No change-out can be led through: {why}", ""),
        "led-only": ("Steps are led through on the walk.", "Say what was done: refilled 170 well a 850 b 850 acid 20."),
        "asks": ("{question}", "Type it behind the verb, such as: {inline}."),
        "not-sick": ("{place} is not marked sick.", "+ says that all is well. " + _NOTHING),
        "say-what": ("`{verb}`: how many of what?", "Such as {example}. " + _NOTHING),
        "pending": ("Not saved yet: {what}.", "Enter saves it, Esc leaves it; then type the next."),
        "again": ("That is not {again}.", "Type {again} once more if it is so, or Esc leaves it."),
    }
)
