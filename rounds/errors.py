"""What can go wrong in a way the grower can put right. Anything else is a bug and may crash."""


class RoundsError(Exception):
    """One sentence that says what is wrong and where, and one hint that says what is expected."""

    def __init__(self, sentence: str, hint: str = "") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.hint = hint

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
