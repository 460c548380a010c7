"""A doing between its line and the record: what is still asked, then what was understood, then saved or left."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rounds.book.gate import entry_of_draft
from rounds.errors import BadInput, RoundsError
from rounds.history.record import Draft, Record
from rounds.walk.dialogue import Choice, Question, Reply
from rounds.walk.dialogue import Way as Onwards
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import Ask, Place, Understood, Way
from rounds.walk.doings.text import doing_text

IF_NOT_YET = "If it is not done yet: do not."
ENTER_SAVES = "Enter saves it, Esc leaves it."
Save = Callable[[Sequence[Draft]], Sequence[Record]]


class InHand:
    """One doing, from its first question until it is saved or left.

    Raises
    ------
    RoundsError
        Where the line cannot be what is meant.
    """

    def __init__(self, place: Place, way: Way, save: Save, typed: str = "") -> None:
        self.place = place
        self.typed = typed
        """The line."""
        self._way, self._save = way, save
        self._now = self._step(None)
        self.saved: Sequence[Record] = ()
        """What was written down; empty until it is."""
        self.is_over = False
        """Whether it was saved or left."""

    @property
    def understood(self) -> Understood | None:
        """What it means; None while something is still asked."""
        return self._now if isinstance(self._now, Understood) else None

    @property
    def asked(self) -> Ask | None:
        """What is asked; None where it is understood."""
        return self._now if isinstance(self._now, Ask) else None

    @property
    def text(self) -> str:
        """The question, or the sentence that is shown before it is saved, with what Enter does."""
        if isinstance(self._now, Ask):
            return f"? {self._now.text}"
        if self._now.beyond:
            return f"! {self._now.beyond}. {IF_NOT_YET}\nIf it is so, type {self._now.again} once more; Esc leaves it."
        return f"understood: {self.sentence}. {ENTER_SAVES}"

    @property
    def sentence(self) -> str:
        """What was understood, with what follows from it; empty while something is still asked."""
        now = self.understood
        return told(self.place, now) if now is not None else ""

    @property
    def question(self) -> Question:
        """It, as a question."""
        hint = "Enter saves it" if self.understood is not None else ""
        return Question(code="doing", text=self.text, hint=hint, choices=(Choice("esc", "leave it"),))

    def begin(self) -> Reply:
        """Ask what is asked first, or say what was understood."""
        return self._go_on()

    def answer(self, text: str) -> Reply:
        """Take an answer; Enter alone saves what was understood."""
        now = self._now
        if isinstance(now, Understood):
            return self._confirm(now, text)
        try:
            read = now.read(text)
        except RoundsError as error:
            return self._refused(error)
        try:
            self._now = self._step(read)
        except RoundsError as error:  # no answer would help any more
            self.is_over = True
            return Reply(message=f"✗ {error}", accepted=False)
        return self._go_on()

    def leave(self) -> Reply:
        """Leave it: nothing is written."""
        self.is_over = True
        return Reply(message="Left: nothing is written.")

    def _step(self, answer: object) -> Ask | Understood:
        """Send an answer on its way; give what is asked next, or what was understood."""
        try:
            return self._way.send(answer)
        except StopIteration as end:
            understood: Understood = end.value
            return understood

    def _refused(self, error: RoundsError) -> Reply:
        """What cannot be an answer: it is asked again."""
        return Reply(message=f"✗ {error}\n{self.text}", accepted=False)

    def _go_on(self) -> Reply:
        now = self._now
        if isinstance(now, Understood) and now.sure and not now.beyond:
            return self._write(now)
        return Reply(message=self.text)

    def _confirm(self, now: Understood, text: str) -> Reply:
        if now.beyond and text.replace(",", ".") != now.again:
            return self._refused(in_words(BadInput, "again", again=now.again))
        if text and not now.beyond:
            return self._refused(in_words(BadInput, "pending", what=self.sentence))
        return self._write(now)

    def _write(self, now: Understood) -> Reply:
        if now.lead is not None:
            return self._lead(now.lead)
        try:
            self.saved = self._save(now.drafts)
        except RoundsError as error:
            return Reply(message=f"✗ {error}\n{self.text}", accepted=False)
        self.is_over = True
        return Reply(message=f"Saved: {self.sentence}.{' ' if now.now_do else ''}{now.now_do}")

    def _lead(self, lead: Callable[[], Onwards]) -> Reply:
        """Go where it leads, or say why that way cannot be gone."""
        self.is_over = True
        try:
            return Reply(way=lead())
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)


def told(place: Place, understood: Understood) -> str:
    """What was understood, with its note and with what follows from it."""
    if not understood.drafts:
        return understood.follows
    first = understood.drafts[0]
    sentence = doing_text(place.session, entry_of_draft(first))
    note = f" ({first.note})" if first.note and sentence else first.note or ""
    return f"{sentence}{note}{'; ' if understood.follows else ''}{understood.follows}"
