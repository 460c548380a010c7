"""What can go wrong in a way the grower can put right. Anything else is a bug and may crash."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar


class RoundsError(Exception):
    """One sentence that says what is wrong and where, and one hint that says what is expected.

    A code with values may stand beside them, for whoever must tell errors apart: the words are no place to look.
    """

    def __init__(
        self, sentence: str, hint: str = "", *, code: str = "", values: Mapping[str, str | float] | None = None
    ) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.hint = hint
        self.code = code
        self.values = dict(values or {})

    def __str__(self) -> str:
        return f"{self.sentence} {self.hint}".strip()


class BadInput(RoundsError, ValueError):
    """Something typed or written in a file that cannot be read as what is expected there."""


class OutOfRange(BadInput):
    """A value outside the range in which a formula or an instrument can be believed."""


class NotFound(RoundsError, LookupError):
    """A farm, station, product, record or file that is not there."""


class Refused(RoundsError):
    """A step that would not be safe: the sentence says why, the hint what to do instead."""


class NotSaved(RoundsError, OSError):
    """The record could not be made durable; what was typed is still on the screen."""


E = TypeVar("E", bound=RoundsError)


class ErrorTexts:
    """The words of a room's errors: a sentence and a hint by code. Nowhere else in that room is an error worded.

    Examples
    --------
    >>> error = ErrorTexts({"too-much": ("{ml:g} mL is too much.", "At most {most:g} mL.")})
    >>> found = error(Refused, "too-much", ml=12.5, most=10.0)
    >>> str(found), found.code, found.values["ml"]
    ('12.5 mL is too much. At most 10 mL.', 'too-much', 12.5)
    """

    def __init__(self, texts: Mapping[str, tuple[str, str]]) -> None:
        self.texts = texts

    def __call__(self, kind: type[E], code: str, /, **values: str | float) -> E:
        """Make an error of a code.

        Raises
        ------
        KeyError
            Where there are no words for the code, or a value is missing.
        """
        sentence, hint = self.texts[code]
        return kind(sentence.format_map(values), hint.format_map(values), code=code, values=values)
