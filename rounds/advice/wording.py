"""Gives a correction its words, last of all: the rest of the advice makes no sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from rounds.advice.catalogue import TEXTS
from rounds.advice.inquiries import asked_in
from rounds.book.message import Message
from rounds.book.offer import Correction, Finding, Refusal, Step


class _Listed(tuple[Any, ...]):
    """Texts that are joined by what their place in a sentence gives as their format."""

    __slots__ = ()

    def __format__(self, between: str) -> str:
        return between.join(self)


def words(message: Message | None) -> str:
    """A message in words; empty where there is none.

    Raises
    ------
    KeyError
        Where the catalogue lacks its code, or the message a value.

    Examples
    --------
    >>> from rounds.book.message import say
    >>> words(say("warm", t=27.4))
    'The feed has 27 °C: shade it, splash more; raise EC only at dusk or dawn.'
    """
    if message is None:
        return ""
    return TEXTS[message.code].format_map({name: _shown(value) for name, value in message.values.items()})


def worded(correction: Correction) -> Correction:
    """The correction with its steps numbered and everything in words."""
    told = msgspec.structs.replace(
        correction,
        steps=steps_in_words(correction.steps),
        findings=tuple(finding_in_words(finding) for finding in correction.findings),
        refusals=tuple(refusal_in_words(refusal) for refusal in correction.refusals),
    )
    return msgspec.structs.replace(told, questions=asked_in(told))


def steps_in_words(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Steps numbered from 1, with their text and why."""
    return tuple(
        msgspec.structs.replace(step, number=number, text=words(step.says), why=words(step.because))
        for number, step in enumerate(steps, 1)
    )


def finding_in_words(finding: Finding) -> Finding:
    """A finding with its text; one that brings its own words keeps them."""
    return finding if finding.says is None else msgspec.structs.replace(finding, text=words(finding.says))


def refusal_in_words(refusal: Refusal) -> Refusal:
    """A refusal with its text and what to do instead; one that brings its own words keeps them."""
    if refusal.says is None:
        return refusal
    return msgspec.structs.replace(refusal, text=words(refusal.says), instead=words(refusal.hint))


def _shown(value: object) -> object:
    if isinstance(value, Message):
        return words(value)
    if isinstance(value, tuple):
        return _Listed(words(each) if isinstance(each, Message) else each for each in value)
    return value
