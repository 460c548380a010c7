"""A visit to a station as question and answer: what was typed, what it means, what is asked next."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rounds.book.entries import Check, entries_of, only
from rounds.checklist.check_words import answers_of, says_no, states, word_for
from rounds.checklist.judgement import judge_as_it_is
from rounds.checklist.model import Item
from rounds.errors import RoundsError
from rounds.history.record import Record
from rounds.walk.bare_numbers import asked_again, is_bare_number
from rounds.walk.dialogue import Onward, Reply, ShownItem
from rounds.walk.questions import Questions
from rounds.walk.stops import ItemLine
from rounds.walk.to_sort.words import still_text
from rounds.walk.visit import Taken, Visit
from rounds.walk.wording import answer_text


class Conversation:
    """Takes what is typed at one station, and asks what is still open."""

    def __init__(self, visit: Visit) -> None:
        self.visit = visit
        self.questions = Questions()
        self._off: dict[str, str] = {}
        """What is not well of what was answered on this visit, by item."""
        self._ask_next()

    @property
    def open_lines(self) -> list[ItemLine]:
        """What is still to be answered."""
        return [line for line in self.visit.stop.open_lines if line.item.id not in self.visit.answers]

    def line(self, text: str) -> Reply:
        """Take a line: the answer to what was asked, or anything else; an empty one wants to go on."""
        doubtful, asked = self.questions.doubtful, self.questions.asked
        if doubtful is not None and text.casefold() in ("", "k", "keep"):
            take = self.visit.keep if text else self.visit.take_likely
            taken = _tried(lambda: take(doubtful))
            return self._after(taken)
        if not text:
            return self._go_on()
        if doubtful is not None and is_bare_number(text):
            return self._after(_tried(lambda: self.visit.take_field(doubtful.item, text)))
        if asked is not None and doubtful is None:
            return self._after(self._answer_or_line(asked, text))
        return self._after(_tried(lambda: self.visit.take_line(text)))

    def field(self, item: Item, text: str) -> Reply:
        """Take the answer typed for one item."""
        return self._after(_tried(lambda: self.visit.take_field(item, text)))

    def all_well(self) -> Reply:
        """Everything that may be is answered as well."""
        try:
            records = self.visit.all_well()
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        self._ask_next()
        finished = not self.open_lines and not self._waits
        covered = Check(records[0]).covers if records else ()
        shown = tuple(ShownItem(item_id=item, sign="✓", text="well") for item in covered)
        message = self._with_question(self._well_text(is_new=bool(records), finished=finished))
        return Reply(message=message, shown=shown, way=self._onward if finished else None)

    @property
    def was_written_to(self) -> bool:
        """Whether something was written down on this visit that can be taken back."""
        return self.visit.can_undo

    def after_doing(self, records: Sequence[Record], said: Reply) -> Reply:
        """Something was done unasked; what it answers here is asked no more."""
        self.questions.settle(record.item for record in records)
        self._ask_next()
        shown = tuple(self._shown_after_undo(each.item) for each in records if each.item in self.visit.answers)
        return Reply(message=self._with_question(said.message), shown=shown)

    def undo(self) -> Reply:
        """Take the last thing back."""
        try:
            batch = self.visit.undo()
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        items = {record.item for record in batch} | {i for c in only(Check, entries_of(batch)) for i in c.covers}
        self._off = {item: text for item, text in self._off.items() if item not in items}
        self._ask_next()
        message = "Taken back; the record keeps both." if batch else "There is nothing to take back on this visit."
        shown = tuple(self._shown_after_undo(item) for item in sorted(items))
        return Reply(message=self._with_question(message), shown=shown)

    @property
    def not_saved(self) -> str:
        """What was typed and is not written down yet; empty where there is nothing."""
        unwritten = self.questions.unwritten
        return (
            f"{', '.join(unwritten)} {'is' if len(unwritten) == 1 else 'are'} not written down yet" if unwritten else ""
        )

    @property
    def _onward(self) -> Onward:
        return Onward(self.visit.stop.station_id, read=True)

    @property
    def _waits(self) -> bool:
        return self.questions.open or bool(self._off)

    def _well_text(self, *, is_new: bool, finished: bool) -> str:
        """What "all well" has said, and what is open still."""
        well = "All well." if is_new or not self.open_lines else "+ answers nothing that is still open here."
        parts = [f"The rest is well. Still off: {self._off_text()}." if self._off else well]
        missing = self._missing()
        parts += [f"Still asked: {missing}."] if missing else []
        if not self.open_lines and not finished and not self.questions.open:
            parts.append("Enter walks on.")
        return " ".join(parts)

    def _off_text(self) -> str:
        return ", ".join(self._named(item) for item in self._off)

    def _named(self, item_id: str) -> str:
        """An item by its label; that of a check says how it should be, so it is quoted where it is not."""
        item = next((line.item for line in self.visit.stop.lines if line.item.id == item_id), None)
        if item is None:
            return item_id
        return item.label if item.type == "reading" else f"“{item.label}”"

    def _shown_after_undo(self, item_id: str) -> ShownItem:
        record = self.visit.answers.get(item_id)
        item = next((line.item for line in self.visit.stop.lines if line.item.id == item_id), None)
        if record is None or item is None:
            return ShownItem(item_id=item_id, sign="•", text="taken back")
        judgement = judge_as_it_is(record.value, item, self.visit.session.farm, self.visit.stop.station)
        return ShownItem(item_id=item_id, sign=judgement.sign, text=judgement.brief, value=answer_text(item, record))

    def _answer_or_line(self, asked: Item, text: str) -> Taken:
        said = states(asked, text.split())
        answer = text if said is None else "y" if said else "n"
        taken = _tried(lambda: self.visit.take_field(asked, answer))
        if not taken.problems:
            return taken
        as_line = _tried(lambda: self.visit.take_line(text))
        return as_line if as_line.saved or as_line.doubtful else taken

    def _after(self, taken: Taken) -> Reply:
        self.questions.settle(record.item for record, _ in taken.saved)
        self.questions.doubt(taken.doubtful)
        self._note_what_is_off(taken)
        self._ask_next()
        done = bool(taken.saved) and not taken.problems and not self.questions.open and not self.open_lines
        told = [*(f"✗ {problem}" for problem in taken.problems), self._saved_text(taken), *taken.told]
        message = "\n".join(part for part in told if part)
        if done and self._off:
            message += "  Enter walks on."
        return Reply(
            message=self._with_question(message),
            shown=self._shown(taken),
            accepted=not taken.problems,
            way=self._onward if done and not self._off else None,
        )

    def _note_what_is_off(self, taken: Taken) -> None:
        for record, judgement in taken.saved:
            self._off.pop(record.item, None)
            if judgement.is_off:
                self._off[record.item] = judgement.text

    def _go_on(self) -> Reply:
        if not self.open_lines:
            return Reply(way=self._onward)
        missing = self._missing()
        if missing:
            return Reply(
                message=f"Still asked: {missing}. {self._how_to_answer()}, or - leaves the rest out with a reason."
            )
        return Reply(message="+ says all well; what is off is typed by its name, such as: " + self._example())

    def _ask_next(self) -> None:
        again = self._asked_again()
        if again is not None:
            self.questions.ask(again, again=True)
            return
        asked = [line for line in self.visit.stop.asked if line.item.id not in self.visit.answers]
        still = next((line for line in asked if _comes_first(line)), None)
        if still is not None:
            self.questions.ask(still.item, self._since(still))
            return
        item = None if any(line.item.quick for line in asked) else self._first(asked)
        line = next((line for line in asked if line.item is item), None)
        self.questions.ask(item, self._since(line) if line is not None else "")

    def _since(self, line: ItemLine) -> str:
        """What was found before, and when; empty where nothing was."""
        if line.still is None:
            return ""
        return f"Still to sort: {still_text(self.visit.session, line.still)}. Now:"

    def _asked_again(self) -> Item | None:
        """The one reading that an open correction wants read again; none where it wants several."""
        wanted = asked_again(self.visit.session, self.visit.stop)
        return next((item for item in self.visit.items if [item.id] == wanted), None)

    def _first(self, asked: list[ItemLine]) -> Item | None:
        """Readings come first; checks once all else is said to be well."""
        readings = [line.item for line in asked if line.item.type == "reading"]
        all_said = all(line.item.id in self.visit.answers for line in self.visit.stop.covered)
        return readings[0] if readings else asked[0].item if asked and all_said else None

    def _with_question(self, message: str) -> str:
        return "\n".join(part for part in (message, self.questions.text) if part)

    def _saved_text(self, taken: Taken) -> str:
        if not taken.saved:
            return ""
        off = [f"{self._named(r.item)} {j.sign} {j.text}" for r, j in taken.saved if j.is_off]
        if off:
            return f"Saved {len(taken.saved)}. " + " · ".join(off)
        return f"Saved {len(taken.saved)}. " + (f"Still off: {self._off_text()}." if self._off else "Nothing is off.")

    def _shown(self, taken: Taken) -> tuple[ShownItem, ...]:
        items = {line.item.id: line.item for line in self.visit.stop.lines}
        return tuple(
            ShownItem(item_id=r.item, sign=j.sign, text=j.brief, value=answer_text(items.get(r.item), r))
            for r, j in taken.saved
        )

    def _missing(self) -> str:
        return ", ".join(line.item.label for line in self.open_lines if line.asked_outright)

    def _how_to_answer(self) -> str:
        """How the first of what is still asked is typed; whether a thing is so is yes or no behind its name."""
        item = next(line.item for line in self.open_lines if line.asked_outright)
        word = word_for(item, self.visit.items)
        return f"Type `{word} y` or `{word} n`" if item.type == "yes_no" and not says_no(item) else "Type it"

    def _example(self) -> str:
        item = self.open_lines[0].item
        return f"{word_for(item, self.visit.items)} ({answers_of(item)})"


def _comes_first(line: ItemLine) -> bool:
    """Whether something that was off is asked before the readings: a word answers it, which is never a number."""
    return line.still is not None and line.item.type in ("yes_no", "choice")


def _tried(take: Callable[[], Taken]) -> Taken:
    try:
        return take()
    except RoundsError as error:
        return Taken(problems=(str(error),))
