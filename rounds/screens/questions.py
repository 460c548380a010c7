"""What a station still has to ask: readings that are hard to believe first, then checks that are asked outright."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable

from rounds.checklist.check_words import answers_of
from rounds.checklist.model import Item
from rounds.units import show
from rounds.walk.answering import Answer


class Questions:
    """The open questions of one visit, asked one at a time on the quick line."""

    def __init__(self) -> None:
        self._doubtful: deque[Answer] = deque()
        self.asked: Item | None = None

    @property
    def doubtful(self) -> Answer | None:
        """The reading that is asked about now."""
        return self._doubtful[0] if self._doubtful else None

    @property
    def open(self) -> bool:
        """Whether anything is still asked."""
        return bool(self._doubtful) or self.asked is not None

    def doubt(self, answers: Iterable[Answer]) -> None:
        """Ask about these as well."""
        self._doubtful.extend(answers)

    def settle(self) -> None:
        """The doubtful reading has been dealt with."""
        if self._doubtful:
            self._doubtful.popleft()

    def ask(self, item: Item | None) -> None:
        """Ask for one check outright, or for none."""
        self.asked = item

    @property
    def text(self) -> str:
        """The question as it stands above the line; empty where nothing is asked."""
        if self.doubtful is not None:
            return _doubt_text(self.doubtful)
        if self.asked is not None:
            return f"{self.asked.label}? {answers_of(self.asked)}"
        return ""


def _doubt_text(answer: Answer) -> str:
    likely = answer.judgement.likely
    meant = f"Enter: {show(likely, answer.item.unit, answer.item.decimals)} was meant" if likely is not None else ""
    keep = "k: keep it as it is" if answer.judgement.verdict == "doubtful" else ""
    choices = " · ".join(part for part in (meant, keep, "or type it again") if part)
    return f"? {answer.item.label} {answer.judgement.text}. {choices}."
