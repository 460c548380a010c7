"""A visit to a station as question and answer: what was typed, what it means, what is asked next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from rounds.checklist.check_words import answers_of
from rounds.checklist.model import Item
from rounds.errors import RoundsError
from rounds.walk.desk import Desk, Taken
from rounds.walk.questions import Questions
from rounds.walk.stops import Line
from rounds.walk.wording import answer_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """How one item stands after something was typed."""

    item_id: str
    sign: str
    text: str
    value: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What is answered to something that was typed."""

    message: str
    shown: tuple[Shown, ...] = ()
    accepted: bool = True
    """Whether the line can be cleared; what could not be read stays on it."""
    finished: bool = False
    """Whether everything is answered and nothing is off: time to walk on."""


class Conversation:
    """Takes what is typed at one station, and asks what is still open."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.questions = Questions()
        self._something_off = False
        self._ask_next()

    @property
    def open_lines(self) -> list[Line]:
        """What is still to be answered."""
        return [line for line in self.desk.stop.open_lines if line.item.id not in self.desk.answers]

    def line(self, text: str) -> Said:
        """Take a line: the answer to what was asked, or anything else; an empty one wants to go on."""
        doubtful, asked = self.questions.doubtful, self.questions.asked
        if doubtful is not None and text.casefold() in ("", "k", "keep"):
            take = self.desk.keep if text else self.desk.take_likely
            taken = _tried(lambda: take(doubtful))
            return self._after(taken)
        if not text:
            return self._go_on()
        if asked is not None and doubtful is None:
            return self._after(self._answer_or_line(asked, text))
        return self._after(_tried(lambda: self.desk.take_line(text)))

    def field(self, item: Item, text: str) -> Said:
        """Take the answer typed for one item."""
        return self._after(_tried(lambda: self.desk.take_field(item, text)))

    def all_well(self) -> Said:
        """Everything that may be is answered as well."""
        try:
            records = self.desk.all_well()
        except RoundsError as error:
            return Said(message=f"✗ {error}", accepted=False)
        covered = records[0].data.get("covers", ()) if records else ()
        self._ask_next()
        missing = self._missing()
        message = f"All well. Still asked: {missing}." if missing else "All well."
        finished = not self.open_lines and not self._waits
        if not self.open_lines and not finished and not self.questions.open:
            message += " Enter walks on."
        shown = tuple(Shown(item_id=item, sign="✓", text="well") for item in covered)
        return Said(message=self._with_question(message), shown=shown, finished=finished)

    def undo(self) -> Said:
        """Take the last thing back."""
        try:
            batch = self.desk.undo()
        except RoundsError as error:
            return Said(message=f"✗ {error}", accepted=False)
        items = {record.item for record in batch} | {i for record in batch for i in record.data.get("covers", ())}
        self._ask_next()
        message = "Taken back; the record keeps both." if batch else "There is nothing to take back on this visit."
        shown = tuple(Shown(item_id=item, sign="•", text="taken back") for item in sorted(items))
        return Said(message=self._with_question(message), shown=shown)

    @property
    def not_saved(self) -> str:
        """What was typed and is not written down yet; empty where there is nothing."""
        doubtful = self.questions.doubtful
        return f"{doubtful.item.label} “{doubtful.typed}” is not written down yet" if doubtful else ""

    @property
    def _waits(self) -> bool:
        return self.questions.open or self._something_off

    def _answer_or_line(self, asked: Item, text: str) -> Taken:
        taken = _tried(lambda: self.desk.take_field(asked, text))
        if not taken.problems:
            return taken
        as_line = _tried(lambda: self.desk.take_line(text))
        return as_line if as_line.saved or as_line.doubtful else taken

    def _after(self, taken: Taken) -> Said:
        self.questions.settle(record.item for record, _ in taken.saved)
        self.questions.doubt(taken.doubtful)
        self._something_off = self._something_off or any(judgement.is_off for _, judgement in taken.saved)
        self._ask_next()
        done = bool(taken.saved) and not taken.problems and not self.questions.open and not self.open_lines
        message = (
            "✗ " + " ✗ ".join(taken.problems) if taken.problems else self._saved_text(taken) if taken.saved else ""
        )
        if done and self._something_off:
            message += "  Enter walks on."
        return Said(
            message=self._with_question(message),
            shown=self._shown(taken),
            accepted=not taken.problems,
            finished=done and not self._something_off,
        )

    def _go_on(self) -> Said:
        if not self.open_lines:
            return Said(message="", finished=True)
        missing = self._missing()
        if missing:
            return Said(message=f"Still asked: {missing}. Type it, or / leaves the rest out with a reason.")
        return Said(message="+ says all well; what is off is typed by its name, such as: " + self._example())

    def _ask_next(self) -> None:
        asked = [line for line in self.desk.stop.asked if line.item.id not in self.desk.answers]
        self.questions.ask(None if any(line.item.quick for line in asked) else self._first(asked))

    def _first(self, asked: list[Line]) -> Item | None:
        """Readings come first; checks once all else is said to be well."""
        readings = [line.item for line in asked if line.item.type == "reading"]
        all_said = all(line.item.id in self.desk.answers for line in self.desk.stop.covered)
        return readings[0] if readings else asked[0].item if asked and all_said else None

    def _with_question(self, message: str) -> str:
        return "\n".join(part for part in (message, self.questions.text) if part)

    def _saved_text(self, taken: Taken) -> str:
        labels = {line.item.id: line.item.label for line in self.desk.stop.lines}
        off = [f"{labels.get(r.item, r.item)} {j.sign} {j.text}" for r, j in taken.saved if j.is_off]
        return f"Saved {len(taken.saved)}. " + (" · ".join(off) if off else "Nothing is off.")

    def _shown(self, taken: Taken) -> tuple[Shown, ...]:
        items = {line.item.id: line.item for line in self.desk.stop.lines}
        return tuple(
            Shown(item_id=r.item, sign=j.sign, text=j.brief, value=answer_text(items.get(r.item), r))
            for r, j in taken.saved
        )

    def _missing(self) -> str:
        return ", ".join(line.item.label for line in self.open_lines if line.asked_outright)

    def _example(self) -> str:
        named = [line.item for line in self.open_lines if line.item.names]
        return f"{named[0].names[0]} ({answers_of(named[0])})" if named else "go to its field with ↓"


def _tried(take: Callable[[], Taken]) -> Taken:
    try:
        return take()
    except RoundsError as error:
        return Taken(problems=(str(error),))
