"""The dialogue of a measurement: one question after the other, each answer durable, the number kept at the end."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rounds.errors import Refused, RoundsError
from rounds.farm.rewriting import write
from rounds.walk.dialogue import Choice, Question, Reply, ToWalk, Way, WithAsides
from rounds.walk.measuring.asking import Ask, Outcome
from rounds.walk.measuring.error_texts import in_words
from rounds.walk.measuring.into_file import WRITE, change_for, file_question
from rounds.walk.measuring.keeping import Answered, begun, keep_answers, keep_outcome
from rounds.walk.measuring.kinds import Kind, Subject, filed_text
from rounds.walk.session import Session

ANEW = "anew"
ESC, UNDO = Choice("esc", "leave, kept"), Choice("u", "undo")


class AtMeasurement(WithAsides):
    """Asks what one measurement needs; what was entered is kept, whenever it is left.

    Raises
    ------
    Refused
        Where a helper walks.
    RoundsError
        Where it cannot be measured on this farm.
    """

    def __init__(
        self, session: Session, kind: Kind, subject: Subject, round_id: str | None = None, back: Way | None = None
    ) -> None:
        super().__init__()
        if session.is_helper:
            raise in_words(Refused, "measure-grower")
        self.session, self.kind, self.subject, self.round_id = session, kind, subject, round_id
        self._back: Way = back or ToWalk()
        self._record, kept = begun(session, kind.what, subject.id)
        if kind.since is not None:
            since = kind.since(session, subject.id)
            kept = tuple(each for each in kept if each.at >= since)
        self.entered: list[str] = []
        """What was entered so far, in words."""
        self._answers: list[Answered] = []
        self._now: Ask | Outcome
        self._is_kept = False
        """Whether the number counts already, and only farm.toml is asked about."""
        self._at(kept)
        self.taken_up = self._since(kept) if self._answers else ""
        self._change = None if self._answers else change_for(self.session, self.kind, self.subject)
        """What farm.toml would become with what was measured; None where it would stay as it is."""

    @property
    def title(self) -> str:
        """What is measured of what."""
        return f"Measure · {self.kind.name} · {self.subject.name}"

    @property
    def opening(self) -> tuple[str, ...]:
        """The title; and what was entered before, where it is taken up again."""
        return (self.title, *([self.taken_up] if self.taken_up else []), *self.entered)

    def own_question(self) -> Question:
        """What is asked next; at the end, whether the number counts."""
        if self._is_kept and self._change is not None:
            return file_question(self._change)
        undo = (UNDO, Choice(ANEW, "from the start")) if self._answers else ()
        into_file = (Choice(WRITE, "last one into farm.toml"),) if self._change is not None else ()
        if isinstance(self._now, Outcome):
            lines = (*self._now.lines, *self._instead_of())
            choices = (Choice("enter", "it counts"), *undo, ESC)
            return Question(
                code="outcome", text="Does it count from now on?", lines=lines, choices=choices, settle=True,
                hint="Enter: it counts from now on; F6 takes the last answer back",
            )  # fmt: skip
        ask = self._now
        wait = self.seconds_left
        early = (f"{_clock(wait)} to go.",) if wait > 0 else ()
        lines = (*(f"! {caution}" for caution in ask.cautions), *ask.lines, *early)
        return Question(
            code=f"measure-{ask.code}", text=ask.text, lines=lines, hint=ask.hint, settle=ask.settle,
            choices=(*undo, *into_file, ESC),
        )  # fmt: skip

    @property
    def typed_keys(self) -> frozenset[str]:
        """Undo is typed like an answer."""
        return frozenset({"u"})

    def help(self) -> tuple[str, ...]:
        """What is asked, and how it is done."""
        question = self.own_question()
        return (question.text, *question.lines)

    @property
    def seconds_left(self) -> float:
        """How long it is until the question may be answered. [s]"""
        ask = self._now
        if isinstance(ask, Outcome) or ask.wait_s <= 0.0 or not self._answers:
            return 0.0
        return max(0.0, ask.wait_s - (self.session.now() - self._answers[-1].at).total_seconds())

    def take(self, text: str) -> Reply:
        """Take an answer: written down before the next is asked."""
        if self._is_kept or (text.casefold() == WRITE and self._change is not None):
            return self._into_file(text)
        if text.casefold() == ANEW and self._answers:
            return self._kept(())
        if isinstance(self._now, Outcome):
            return self._count(self._now, text)
        if self.seconds_left > 0.0:
            return Reply(
                message=f"✗ {in_words(Refused, 'measure-wait', left=_clock(self.seconds_left))}", accepted=False
            )
        try:
            self._now.read(text)
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        return self._kept((*self._answers, Answered(text, self.session.now())))

    def take_key(self, key: str) -> Reply:
        """`u` takes the last answer back; Esc leaves it, and it is taken up here next time."""
        if self._is_kept:
            return Reply(way=self._back) if key == "esc" else super().take_key(key)
        if key == "u":
            return self._kept(self._answers[:-1]) if self._answers else Reply(message="Nothing was entered yet.")
        if key == "esc":
            kept = "What was entered is kept: it is taken up here next time." if self._answers else ""
            return Reply(message=kept, way=self._back)
        return super().take_key(key)

    def _kept(self, answers: Sequence[Answered]) -> Reply:
        """Write the answers down, then stand behind them."""
        fewer = len(answers) < len(self._answers)
        try:
            self._record = keep_answers(
                self.session, self.kind.what, self.subject.id, answers, self._record, self.round_id
            )
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        self._at(answers)
        if fewer:
            return Reply(message="Taken back; the record keeps it." if answers else "From the start.")
        return Reply(message=f"Kept: {self.entered[-1]}." if self.entered else "")

    def _count(self, outcome: Outcome, text: str) -> Reply:
        if text:
            return Reply(message=f"✗ {in_words(Refused, 'measure-outcome')}", accepted=False)
        if outcome.keep is not None:
            return self._keep_elsewhere(outcome.keep)
        try:
            keep_outcome(self.session, self.kind.what, self.subject.id, outcome, self._record, self.round_id)
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        self._record, self._answers, self._is_kept = None, [], True
        self._change = change_for(self.session, self.kind, self.subject)
        way = self._back if self._change is None else None
        return Reply(message=f"Written down. {outcome.lines[0]}", way=way)

    def _keep_elsewhere(self, keep: Callable[[str | None], Way]) -> Reply:
        """It is no number of the farm itself: what it belongs to takes it."""
        try:
            way = keep(self.round_id)
            keep_answers(self.session, self.kind.what, self.subject.id, (), self._record, self.round_id)
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        return Reply(message="Written down.", way=way)

    def _into_file(self, text: str) -> Reply:
        """The difference was shown: write it, or leave the file as it is."""
        if not text:
            return Reply(message="farm.toml stays as it is; what was measured counts.", way=self._back)
        if text.casefold() != WRITE or self._change is None:
            return Reply(message=f"✗ {in_words(Refused, 'measure-write')}", accepted=False)
        if not self._is_kept:
            self._is_kept = True
            return Reply(message="This would change in farm.toml.")
        try:
            write(self._change)
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        return Reply(message="Written into farm.toml.", way=self._back)

    def _at(self, answers: Sequence[Answered]) -> None:
        """Go through the answers again, as far as they are still answers; what comes next is asked."""
        way = self.kind.way(self.session, self.subject.id)
        self.entered, self._answers, self._now = [], [], next(way)
        for each in answers:
            ask = self._now
            if isinstance(ask, Outcome):
                break
            try:
                read = ask.read(each.text)
            except RoundsError:
                break
            self._answers.append(each)
            self.entered.append(ask.told(read))
            try:
                self._now = way.send(read)
            except StopIteration as end:
                outcome: Outcome = end.value
                self._now = outcome

    def _since(self, kept: Sequence[Answered]) -> str:
        at = kept[-1].at
        return f"Taken up where it stood on {at.day} {at:%B} at {at:%H:%M}; `anew`, then Enter, begins from the start."

    def _instead_of(self) -> tuple[str, ...]:
        """What it goes before: the last measurement, or what the file says."""
        before = self.session.farm.measured.get((self.subject.id, self.kind.what))
        if before is not None:
            return (f"Before: {before.value:.3g} {before.unit}, {before.told}.",)
        filed = filed_text(self.session, self.kind, self.subject.id)
        return (f"Before: {filed}.",) if filed else ()


def _clock(seconds: float) -> str:
    """Minutes and seconds.

    Examples
    --------
    >>> _clock(272.2)
    '4:33'
    """
    whole = int(seconds) + (seconds > int(seconds))
    return f"{whole // 60}:{whole % 60:02d}"
