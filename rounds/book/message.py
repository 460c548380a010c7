"""What is said, before it has words: a code, and the values that the sentence will name."""

from __future__ import annotations

import msgspec


class Message(msgspec.Struct, frozen=True):
    """One sentence, or a part of one, as a code with its values; whoever works something out needs no words for it."""

    code: str
    values: dict[str, str | int | float | Message | tuple[str | Message, ...]] = {}
    """Figures in the units that the words will name; messages within the message; lists of both."""


Value = str | int | float | Message | tuple[str | Message, ...]


def say(code: str, /, **values: Value) -> Message:
    """Put a message together.

    Examples
    --------
    >>> say("warm", t=27.5).values
    {'t': 27.5}
    """
    return Message(code, dict(values))


def sentences(*messages: Message) -> Message:
    """Several sentences as one message, each said once."""
    once = [message for n, message in enumerate(messages) if message not in messages[:n]]
    return once[0] if len(once) == 1 else say("sentences", all=tuple(once))
