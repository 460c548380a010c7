"""What is refused on the walk and what cannot be read, in words: all errors of this room, by code."""

from __future__ import annotations

from rounds.book.message import Message
from rounds.errors import ErrorTexts, Refused

_CALL = "Pour nothing for it and call the grower; F8 shows the numbers."
_CALL_ELSE = "Pour nothing for it and call the grower; `--as NAME` says that somebody else walks."
_AMOUNT = "An amount of 0 or more is expected."

_LIMITS = {
    "helper-product": "{product} is not among what the grower allows a helper to pour",
    "helper-step": "{ml:g} mL in one step, where the grower allows {most:g} mL",
    "helper-day": "{ml:g} mL in one day, where the grower allows {most:g} mL",
}
"""Why an amount is more than a helper may pour, within a sentence."""

in_words = ErrorTexts(
    {
        # of helpers
        "growers-record": ("That is the grower's to write down.", _CALL),
        "growers-newer": ("What a newer version wrote is the grower's to take back.", _CALL),
        "growers-doing": ("What is {verb} is the grower's to say.", "A note (*) tells of it."),
        "growers-matter": ("That is the grower's to settle.", "A note (*) tells of it."),
        "growers-dose": ("What was poured is put right by the grower.", "A note (*) tells what is wrong."),
        "growers-change-out": ("A change-out is the grower's work.", _CALL_ELSE),
        "helper-mix": ("{product} is not the helper's to mix with.", _CALL_ELSE),
        "helper-mix-step": ("This wants {ml:g} mL of {product}; a helper may pour {most:g} mL a step.", _CALL_ELSE),
        "helper-mix-day": ("This wants {ml:g} mL in a day; a helper may pour {most:g} mL.", _CALL_ELSE),
        # of corrections
        "correction-overtaken": (
            "This correction no longer holds: something was read, poured or put off since it was worked out.",
            "Esc walks on; read the reservoir again.",
        ),
        "step-done": ("Step {step} is written down already, perhaps by another window.", "Esc walks on."),
        "step-amount": ("{amount:g} {unit} cannot have been added.", _AMOUNT),
        "buffer-ph": ("The meter cannot show a pH of {ph:g}.", "Expected is about 7."),
        "asked-ph": ("A pH of {ph:g} cannot be.", "Expected: {low:g} to {high:g}."),
        "no-question": ("Only a question can be skipped.", "p, then Enter, puts the rest off."),
        "no-jar-asked": (
            "A jar test belongs to a correction, which says how much of what goes into the jar; none asks for it now.",
            "Read pH, EC and dip; where the correction asks for a jar test, do it and type it there.",
        ),
        "no-reason": ("{product} is not given up without a reason.", "A few words are expected."),
        "newer-record": ("{told}.", "{instead}"),
        # of numbers
        "impossible": ("{item} {why}.", "Nothing was written down."),
        "right-impossible": ("It {why}.", ""),
        "right-amount": ("{amount:g} {unit} cannot be.", "An amount from 0 to {most} is expected."),
        "right-reading": ("{value:g} cannot be a reading.", "A number as the meter shows it is expected."),
        "right-no-number": ("This entry holds no answer.", "A reading, a check, a dose or a stock can be put right."),
        "right-not-clear": ("{why}", ""),
        "right-which": ("“{text}” is none of these checks.", "They are: {known}."),
        "not-yours": (
            "That was written down by {person}.",
            "You put right what you wrote; a note (*) tells the grower.",
        ),
        "shelf-amount": ("{amount:g} {unit} cannot be on the shelf.", _AMOUNT),
        # of names
        "nobody-walks": ("{file} does not say who walks here.", "Name somebody with --as NAME."),
        "no-item": ("{station} has no item “{item}”.", "It has: {known}."),
        "no-item-of-the-farm": ("The farm as a whole has no item “{item}”.", "Name the station it belongs to."),
        # of the daybook
        "no-such-day": ("“{text}” is no day.", "Such as  last tue,  2 oct,  -10  or  2026-10-02."),
        "day-to-come": ("“{text}” has not come yet.", "The daybook has today and earlier days."),
        "no-such-kind": ("There is no entry of the kind “{kind}”.", "Expected: {known}."),
        "no-station-found": ("The farm has no station “{station}”.", "Meant is perhaps {known}."),
        # of tables from elsewhere
        "not-yet": ("{at} has not come yet.", "Only what was read already is taken in."),
        "no-person": ("Nobody called “{person}” walks this farm.", "There are: {known}."),
    }
)


def limit_text(beyond: Message) -> str:
    """Why an amount is more than a helper may pour, to stand within a sentence.

    Examples
    --------
    >>> limit_text(Message("helper-step", {"ml": 60.0, "most": 50.0}))
    '60 mL in one step, where the grower allows 50 mL'
    """
    return _LIMITS[beyond.code].format_map(beyond.values)


def beyond_the_limit(beyond: Message) -> Refused:
    """The same as an error: it is not written down."""
    text, values = limit_text(beyond), {name: v for name, v in beyond.values.items() if isinstance(v, str | float)}
    return Refused(f"{text[0].upper()}{text[1:]}: it is not written down.", _CALL, code=beyond.code, values=values)
