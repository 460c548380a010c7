"""What a station still has to ask: readings that are hard to believe first, then what is asked outright."""

from __future__ import annotations

from collections.abc import Iterable

from rounds.checklist.check_words import answers_of
from rounds.checklist.model import Item
from rounds.units import show
from rounds.walk.answering import JudgedAnswer


class Questions:
    """The open questions of one visit, asked one at a time."""

    def __init__(self) -> None:
        self._doubtful: list[JudgedAnswer] = []
        self.asked: Item | None = None
        self.before = ""
        """What is told before what is asked: since when it was off."""
        self._again = False

    @property
    def doubtful(self) -> JudgedAnswer | None:
        """The reading that is asked about now; it is not written down yet."""
        return self._doubtful[0] if self._doubtful else None

    @property
    def open(self) -> bool:
        """Whether anything is still asked."""
        return bool(self._doubtful) or self.asked is not None

    @property
    def text(self) -> str:
        """The question in words; empty where nothing is asked."""
        if self.doubtful is not None:
            more = f" (and {len(self._doubtful) - 1} more)" if len(self._doubtful) > 1 else ""
            return _doubt_text(self.doubtful) + more
        if self.asked is None:
            return ""
        again = f"Read the {self.asked.label} again." if self._again else f"{self.asked.label}?"
        alone = "; 1 or 0 alone" if self.asked.type == "yes_no" else ""
        return f"{self.before} {again} {answers_of(self.asked)}{alone}".lstrip()

    @property
    def unwritten(self) -> list[str]:
        """Everything that was typed and is not written down yet."""
        return [f"{answer.item.label} “{answer.typed}”" for answer in self._doubtful]

    def doubt(self, answers: Iterable[JudgedAnswer]) -> None:
        """Ask about these as well, in place of what was doubted of the same items."""
        new = list(answers)
        self.settle({answer.item.id for answer in new})
        self._doubtful += new

    def settle(self, item_ids: Iterable[str]) -> None:
        """These items have been answered."""
        settled = set(item_ids)
        self._doubtful = [answer for answer in self._doubtful if answer.item.id not in settled]

    def ask(self, item: Item | None, before: str = "", *, again: bool = False) -> None:
        """Ask for one item outright, or for none; `before` is told first, `again` where it is wanted a second time."""
        self.asked, self.before, self._again = item, before if item is not None else "", again


def _doubt_text(answer: JudgedAnswer) -> str:
    likely = answer.judgement.likely
    meant = f"Enter: {show(likely, answer.item.unit, answer.item.decimals)} was meant" if likely is not None else ""
    keep = "k and Enter: keep it as it is" if answer.judgement.verdict == "doubtful" else ""
    choices = [part for part in (meant, keep) if part]
    again = "or type it again" if choices else "Type it again"
    return f"? {answer.item.label} {doubted(answer)}. {' · '.join([*choices, again])}."


def doubted(answer: JudgedAnswer) -> str:
    """What was read, and why it is doubted: the line it was typed on is empty by now."""
    text = answer.judgement.text.removesuffix("; noted")
    if answer.judgement.verdict == "impossible" or not isinstance(answer.value, int | float):
        return text
    value, usual = float(answer.value), answer.item.decimals
    return f"{show(value, answer.item.unit, usual if round(value, usual) == value else None)} is {text}"
