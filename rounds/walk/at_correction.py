"""The dialogue of a correction: each step done as advised or with another amount, put off, given up, or asked about.

It asks first where the reservoir has not mixed yet, and where an amount is far off or not a helper's to pour.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import msgspec

from rounds.book.entries import Dose, Reading, entries_of, entry_of, only
from rounds.book.half_pair import HalfPair
from rounds.book.offer import Step
from rounds.errors import RoundsError
from rounds.history.record import Record
from rounds.units import parse_quantity
from rounds.walk.answering import note_draft
from rounds.walk.asked_first import ITEMS, answer_asked, is_the_last_answer, shown_ph, skip_asked
from rounds.walk.carrying_out import after_the_wrong_amount, far_more, put_off, record_step
from rounds.walk.correction_text import (
    assumed_text,
    commands_of,
    line_text,
    said_text,
    step_details,
    step_title,
    working_text,
)
from rounds.walk.dialogue import Anew, Aside, Choice, Onward, Question, Reply, ToStation, ToWalk, Way, choices_of
from rounds.walk.doings.model import Place
from rounds.walk.doings.with_doings import WithDoings
from rounds.walk.finding import find
from rounds.walk.half_pairs import give_up, half_pair_at
from rounds.walk.helper import beyond_limit
from rounds.walk.measuring.leading import is_measure, reply_to
from rounds.walk.open_corrections import OpenCorrection, open_correction_of
from rounds.walk.rechecks import waits
from rounds.walk.session import Session
from rounds.walk.step_line import Command, ForStation, Poured, Shown, Unclear, amount_of, meant, to_confirm
from rounds.walk.undoing import ask_to_take_back, last_written
from rounds.walk.waits import Wait

BESIDE = tuple(each for each in choices_of("correction") if each.key in ("u", "*", "/", "esc"))
"""What may be pressed or typed at every step."""


class AtCorrection(WithDoings):
    """Walks through one correction; letters are text, and Enter alone says that a step was done as advised."""

    asks_of_older = False

    def __init__(self, session: Session, correction: OpenCorrection, round_id: str | None) -> None:
        super().__init__()
        self.session = session
        self.correction = correction
        self.round_id = round_id
        self.overtaken = False
        """Whether what was poured is so far off that the other steps no longer hold."""
        self._asked_about: tuple[Step, float | None] | None = None
        self._pair = half_pair_at(session, correction.station_id)

    @property
    def opening(self) -> tuple[str, ...]:
        """What was found, what it was worked out from, and all steps."""
        name = self.session.farm.station(self.correction.station_id).name
        about = [*said_text(self.correction).splitlines(), *assumed_text(self.correction).splitlines()]
        return (f"{name} · correction", *about, *(self.title(step) for step in self.correction.steps))

    def own_question(self) -> Question:
        """The step that is next."""
        step = self.step
        lines = (self.title(step), *step_details(step).splitlines()) if step is not None else ()
        choices = (*(Choice(key.removesuffix(" Enter").lower(), word) for key, word in self.commands()), *BESIDE)
        return Question(code="step", lines=lines, hint=line_text(step), choices=choices, settle=True)

    @property
    def not_saved(self) -> str:
        """What was done unasked and is not written down yet."""
        return self.unsaved_doing

    def place_of_doing(self) -> Place:
        """The reservoir, now."""
        station = self.session.farm.station(self.correction.station_id)
        items = self.session.items(station)
        return Place(
            session=self.session, station=station, at=self.session.now(), round_id=self.round_id, items=items
        )  # fmt: skip

    def after_doing(self, records: Sequence[Record], said: Reply) -> Reply:
        """What was poured or drained ends the correction: the reservoir is read again."""
        if not only(Dose, entries_of(records)):
            return said
        ends = "The correction no longer holds: when it has mixed, read it again."
        return Reply(message=f"{said.message} {ends}", alarm=ends, way=ToStation(self.correction.station_id))

    @property
    def step(self) -> Step | None:
        """The step that is next; None at the end, and where the rest no longer holds."""
        return None if self.overtaken else self.correction.next_step

    def title(self, step: Step, *, width: int = 80) -> str:
        """One step with its sign."""
        done, following = self.correction.done.get(step.number), self.correction.next_step
        return step_title(step, done, self.session.now(), following=step is following, width=width)

    def commands(self) -> list[tuple[str, str]]:
        """What Enter does with the empty line, and the letters that are commands."""
        pair = self._pair
        return commands_of(self.step, given_up=pair.missing if pair is not None and not self.session.is_helper else "")

    def answer(self, text: str) -> Reply:
        """Take a typed line; `poured 30` at a step that pours something is its amount, and no doing beside it."""
        is_open = self.in_hand is not None or self.aside is not None
        return super().answer(text if is_open else amount_of(self.step, text))

    def is_of_next_step(self, text: str) -> bool:
        """Whether a line says something of the step that is next: Enter alone does, and a number."""
        if self.in_hand is not None:
            return False
        said = amount_of(self.step, text)
        return not said or isinstance(meant(self.session, self.correction, said), Poured | Shown)

    def is_confirmed_by_enter(self) -> bool:
        """Whether Enter alone says that the next step was done."""
        step = self.step
        return (
            self.in_hand is None
            and step is not None
            and step.action not in (*ITEMS, "read_again")
            and not to_confirm(step)
        )

    def take(self, text: str) -> Reply:
        """Take a line as what it means at the step that is next."""
        if not text:
            return self._enter()
        if is_measure(text):
            return reply_to(self.session, text, self.correction.station_id)
        if text.startswith("*"):
            return self._noted(text[1:].strip())
        if text.startswith("/"):
            return find(self.session, text[1:])
        step = self.correction.next_step
        match meant(self.session, self.correction, text):
            case Command(letter):
                return msgspec.structs.replace(self._command(letter), accepted=True)
            case ForStation(line):
                return Reply(way=ToStation(self.correction.station_id, line))
            case Shown(shown) if step is not None:
                return self._answered(step, shown)
            case Poured(amount) if step is not None:
                return self._pour(step, amount)
            case Unclear(sentence):
                return Reply(message=f"✗ {sentence}", accepted=False)
        return Reply()

    @property
    def typed_keys(self) -> frozenset[str]:
        """Undo, a note, find."""
        return frozenset({"u", "*", "/"})

    def help(self) -> tuple[str, ...]:
        """The step that is next, in full."""
        step = self.step
        return () if step is None else (self.title(step), *step_details(step).splitlines())

    def take_key(self, key: str) -> Reply:
        """Esc goes on with the walk, and the correction stays open."""
        doings: dict[str, Callable[[], Reply]] = {
            "esc": lambda: Reply(way=self._way_on),
            "u": self._undo,
            "*": self._ask_note,
            "/": lambda: find(self.session, ""),
        }
        return doings[key]() if key in doings else super().take_key(key)

    def still_mixes(self) -> Wait | None:
        """What still mixes here."""
        here = (wait for wait in waits(self.session) if wait.station_id == self.correction.station_id)
        return next((wait for wait in here if wait.seconds_left(self.session.now()) > 0), None)

    @property
    def _way_on(self) -> Way:
        return ToWalk() if self.round_id is None else Onward(self.correction.station_id)

    def _enter(self) -> Reply:
        """Enter alone: the next step was done as advised, or what it asks for comes now."""
        step = self.step
        if step is None:
            return Reply(way=self._way_on)
        if step.action in ITEMS:
            hint, take = "Which pH does it show? Esc leaves it.", partial(self._answered, step)
            return self.ask(Aside(code="shown", text=step.text, hint=hint, check=shown_ph, take=take, settle=True))
        if step.action == "read_again":
            return Reply(way=ToStation(self.correction.station_id))
        if to_confirm(step):
            return Reply(message=f"{to_confirm(step)}.")
        return self._pour(step, None)

    def _command(self, letter: str) -> Reply:
        doings: dict[str, Callable[[], Reply]] = {
            "e": self._ask_amount,
            "p": self._ask_why_put_off,
            "w": lambda: Reply(paper=working_text(self.correction)),
            "g": self._ask_why_given_up,
            "s": self._skip,
        }
        return doings.get(letter, self._really_done)()

    def _pour(self, step: Step, amount: float | None) -> Reply:
        """Write a step down, with the amount in its unit or as advised; or ask first."""
        if self.still_mixes() is not None:
            self._asked_about = step, amount
            told = "this step was" if amount is None else f"these {amount:g} {step.unit} were"
            return Reply(message=f"✗ It has not mixed yet. y, then Enter: {told} really done already.")
        return self._within_limits(step, amount)

    def _really_done(self) -> Reply:
        """The step that was asked about was done before it had mixed."""
        asked, self._asked_about = self._asked_about, None
        if asked is not None and asked[0] is self.correction.next_step:
            return self._within_limits(*asked)
        return Reply(message="Nothing is asked that y would answer.")

    def _within_limits(self, step: Step, amount: float | None) -> Reply:
        """Write it down; what is beyond a helper's limits or far off only after a warning, and then with a mark."""
        really = step.amount if amount is None else amount
        beyond = beyond_limit(self.session, step.product or "", really, step.unit) or far_more(step, really)
        if not beyond:
            return self._record(step, amount)
        question = (
            f"! {beyond[0].upper()}{beyond[1:]}. If it is not poured yet: do not. Esc leaves it; F8 shows whom to call."
        )
        typed = really * step.thinned
        hint = f"Was it poured already? Type {typed:g} once more, and it is written down with this warning."
        take = partial(self._confirmed, step, amount)
        return self.ask(Aside(code="far-off", text=question, hint=hint, settle=True, take=take))

    def _confirmed(self, step: Step, amount: float | None, text: str) -> Reply:
        really = step.amount if amount is None else amount
        if text.replace(",", ".") == f"{really * step.thinned:g}":
            return self._record(step, really)
        return Reply(message="✗ Not written down: the amount was not the same.")

    def _record(self, step: Step, amount: float | None) -> Reply:
        try:
            self.correction = record_step(self.session, self.correction, step, amount, self.round_id)
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        self._asked_about, self._pair = None, half_pair_at(self.session, self.correction.station_id)
        now_do = after_the_wrong_amount(step, step.amount if amount is None else amount)
        self.overtaken = self.overtaken or bool(now_do)
        return Reply(message=f"✗ {now_do} Esc walks on." if now_do else self._written_down())

    def _written_down(self) -> str:
        running = self.still_mixes()
        if running is not None:
            minutes = running.seconds_left(self.session.now()) / 60
            return f"Written down. It mixes for {minutes:.0f} min, {running.what}: Esc walks on, the bell calls."
        return "Written down." if self.correction.next_step is not None else "All steps are done. Enter walks on."

    def _answered(self, step: Step, text: str) -> Reply:
        """Write down the pH that was asked for."""
        at = self.session.now()
        try:
            concern = answer_asked(self.session, self.correction, step, text, self.round_id)
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        saved = f"Saved: {ITEMS[step.action]} {text}. The correction is worked out anew."
        holds = partial(is_the_last_answer, self.session, at)
        return Reply(message=saved, alarm=concern, alarm_holds=holds, way=Anew(self.correction.station_id))

    def _skip(self) -> Reply:
        """Leave a question without an answer, and show the step that follows."""
        try:
            self.correction = skip_asked(self.session, self.correction, self.round_id)
        except RoundsError as error:
            return Reply(message=f"✗ {error}")
        follows = "What follows is safe even so." if self.step is not None else "Enter walks on."
        return Reply(message=f"Skipped. {follows}")

    def _ask_amount(self) -> Reply:
        step = self.correction.next_step
        if step is None or not step.is_measured:
            return Reply(message="This step has no amount. Enter says that it was done.")
        advised = step.amount * step.thinned
        question = f"How much was really added, in {step.unit}? Advised: {advised:g} {step.unit}"
        read = partial(parse_quantity, usual=step.unit, gallon=self.session.farm.place.gallon)
        take = partial(self._pour_typed, step, read)
        return self.ask(Aside(code="amount", text=question, check=read, settle=True, take=take))

    def _pour_typed(self, step: Step, read: Callable[[str], float], text: str) -> Reply:
        return self._pour(step, read(text) / step.thinned)

    def _undo(self) -> Reply:
        """Take the newest answer back, or the newest step of this correction."""
        station_id = self.correction.station_id
        found = last_written(self.session, station_id=station_id, correction_id=self.correction.id)
        if not found:
            return Reply(message="Nothing of this correction can be taken back: none of it was written today by you.")
        is_answer = any(isinstance(entry_of(each), Reading) for each in found)
        return self.ask(ask_to_take_back(self.session, found, lambda said: self._as_before(said, anew=is_answer)))

    def _as_before(self, said: Reply, *, anew: bool) -> Reply:
        """What was taken back is open again; without an answer the correction is worked out anew."""
        now = open_correction_of(self.session, self.correction.station_id)
        if anew or now is None or now.id != self.correction.id:
            return msgspec.structs.replace(said, way=Anew(self.correction.station_id))
        self.correction, self.overtaken, self._asked_about = now, False, None
        self._pair = half_pair_at(self.session, self.correction.station_id)
        return said

    def _ask_note(self) -> Reply:
        name = self.session.farm.station(self.correction.station_id).name
        return self.ask(Aside(code="note", text=f"Note on {name}", take=self._noted))

    def _noted(self, text: str) -> Reply:
        draft = note_draft(
            self.session, self.correction.station_id, text, at=self.session.now(), round_id=self.round_id
        )
        return self._then(lambda: self.session.save(draft), Reply(message="Noted."))

    def _ask_why_put_off(self) -> Reply:
        question = "Why is it put off? It is carried over to the next round."
        return self.ask(Aside(code="put-off", text=question, take=self._put_off))

    def _put_off(self, reason: str) -> Reply:
        return self._then(
            lambda: put_off(self.session, self.correction, reason, self.round_id), Reply(way=self._way_on)
        )

    def _ask_why_given_up(self) -> Reply:
        pair = half_pair_at(self.session, self.correction.station_id)
        if pair is None:
            return Reply(message="A and B went in together here: there is nothing to give up.")
        if self.session.is_helper:
            return Reply(message="Giving it up is for the grower to say: F8 shows whom to call.")
        question = f"Why is {pair.missing} given up? {pair.when(self.session.now())}: a change-out is safer."
        return self.ask(Aside(code="give-up", text=question, take=lambda reason: self._given_up(pair, reason)))

    def _given_up(self, pair: HalfPair, reason: str) -> Reply:
        return self._then(
            lambda: give_up(self.session, pair, reason, self.correction.id, self.round_id),
            Reply(way=Anew(self.correction.station_id)),
        )

    def _then(self, write: Callable[[], object], then: Reply) -> Reply:
        try:
            write()
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        return then
