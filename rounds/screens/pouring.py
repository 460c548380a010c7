"""What the page of a correction writes down, and what it asks in a window before it does."""

from __future__ import annotations

from collections.abc import Callable

from textual.screen import Screen

from rounds.book.half_pair import HalfPair
from rounds.book.offered import PlannedStep
from rounds.errors import RoundsError
from rounds.screens.messages import BackToWalk, WalkOn, WorkOutAgain
from rounds.screens.prompt import PromptScreen
from rounds.units import parse_quantity
from rounds.walk.carrying_out import after_the_wrong_amount, dip_in_buffer, far_more, put_off, record_step
from rounds.walk.half_pairs import give_up, half_pair_at
from rounds.walk.helper import beyond_limit
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.rechecks import waits
from rounds.walk.session import Session
from rounds.walk.waits import Wait


class PouringScreen(Screen[None]):
    """Writes steps down: asks first where it has not mixed, or where the amount is far off or not a helper's."""

    def __init__(self, session: Session, correction: OpenCorrection, round_id: str | None) -> None:
        super().__init__()
        self.session = session
        self.correction = correction
        self.round_id = round_id
        self.overtaken = False
        """Whether what was poured is so far off that the other steps no longer hold."""
        self._asked_about: tuple[PlannedStep, float | None] | None = None

    def say(self, text: str) -> None:
        """Show a sentence on the page."""
        raise NotImplementedError

    def show_next(self) -> None:
        """Show the steps anew: one of them was written down."""
        raise NotImplementedError

    def pour(self, step: PlannedStep, amount: float | None) -> bool:
        """Write a step down, or ask first.

        Parameters
        ----------
        amount : float or None
            What was really added, in the step's unit; None as advised.

        Returns
        -------
        bool
            False where it was refused, so that what was typed is to be kept.
        """
        if self.still_mixes() is not None:
            self._asked_about = step, amount
            told = "this step was" if amount is None else f"these {amount:g} {step.unit} were"
            self.say(f"✗ It has not mixed yet. y, then Enter: {told} really done already.")
            return True
        return self._within_limits(step, amount)

    def really_done(self) -> None:
        """The step that was asked about was done before it had mixed."""
        asked, self._asked_about = self._asked_about, None
        if asked is not None and asked[0] is self.correction.next_step:
            self._within_limits(*asked)
        else:
            self.say("Nothing is asked that y would answer.")

    def ask_amount(self) -> None:
        """Enter what was really added."""
        step = self.correction.next_step
        if step is None or not step.is_measured:
            self.say("This step has no amount. Enter says that it was done.")
            return
        question = f"How much was really added, in {step.unit}? Advised: {step.amount:g} {step.unit}"
        prompt = PromptScreen(question, check=lambda text: self._amount(step, text))
        self.app.push_screen(prompt, lambda text: self._other_amount(step, text))

    def ask_what_it_shows(self, step: PlannedStep) -> None:
        """Ask what the meter shows in buffer."""
        prompt = PromptScreen(step.text, "What does the meter show? Esc leaves it.")
        self.app.push_screen(prompt, lambda text: None if text is None else self._dipped(text))

    def dip(self, text: str) -> bool:
        """Write down what the meter shows in buffer; false where it cannot be."""
        try:
            concern = dip_in_buffer(self.session, self.correction, text, self.round_id)
        except RoundsError as error:
            self.say(f"✗ {error}")
            return False
        if concern:
            self.app.notify(concern, severity="error", timeout=60, markup=False)
        self.post_message(WorkOutAgain(self.correction.station_id))
        return True

    def ask_why_put_off(self) -> None:
        """Leave the rest for later, with a reason."""
        question = "Why is it put off? It is carried over to the next round."
        self.app.push_screen(PromptScreen(question), self._put_off)

    def ask_why_given_up(self) -> None:
        """Leave half a pair as it is, with a reason."""
        pair = half_pair_at(self.session, self.correction.station_id)
        if pair is None:
            self.say("A and B went in together here: there is nothing to give up.")
        elif self.session.is_helper:
            self.say("Giving it up is for the grower to say: F8 shows whom to call.")
        else:
            question = f"Why is {pair.missing} given up? {pair.when(self.session.now())}: a change-out is safer."
            self.app.push_screen(PromptScreen(question), lambda reason: self._given_up(pair, reason))

    def action_walk_on(self) -> None:
        """Go on with the walk; the correction stays open."""
        self.post_message(BackToWalk() if self.round_id is None else WalkOn(self.correction.station_id))

    def still_mixes(self) -> Wait | None:
        """What still mixes here."""
        here = (wait for wait in waits(self.session) if wait.station_id == self.correction.station_id)
        return next((wait for wait in here if wait.seconds_left(self.session.now()) > 0), None)

    def _within_limits(self, step: PlannedStep, amount: float | None) -> bool:
        """Write it down; what is beyond a helper's limits or far off only after a warning, and then with a mark."""
        really = step.amount if amount is None else amount
        beyond = beyond_limit(self.session, step.product or "", really, step.unit) or far_more(step, really)
        if not beyond:
            return self._record(step, amount)
        question = (
            f"! {beyond[0].upper()}{beyond[1:]}. If it is not poured yet: do not. Esc leaves it; F8 shows whom to call."
        )
        hint = f"Was it poured already? Type {really:g} once more, and it is written down with this warning."
        record: Callable[[], object] = lambda: self._record(step, amount)  # noqa: E731
        self.app.push_screen(PromptScreen(question, hint), lambda text: self._confirmed(really, text, record))
        return True

    def _confirmed(self, amount: float, text: str | None, record: Callable[[], object]) -> None:
        if text is not None and text.replace(",", ".") == f"{amount:g}":
            record()
        elif text is not None:
            self.say("✗ Not written down: the amount was not the same.")

    def _record(self, step: PlannedStep, amount: float | None) -> bool:
        try:
            self.correction = record_step(self.session, self.correction, step, amount, self.round_id)
        except RoundsError as error:
            self.say(f"✗ {error}")
            return False
        self._asked_about = None
        now_do = after_the_wrong_amount(step, step.amount if amount is None else amount)
        self.overtaken = self.overtaken or bool(now_do)
        self.show_next()
        self.say(f"✗ {now_do} Esc walks on." if now_do else self._written_down())
        return True

    def _written_down(self) -> str:
        running = self.still_mixes()
        if running is not None:
            minutes = running.seconds_left(self.session.now()) / 60
            return f"Written down. It mixes for {minutes:.0f} min, {running.what}: Esc walks on, the bell calls."
        return "Written down." if self.correction.next_step is not None else "All steps are done. Enter walks on."

    def _other_amount(self, step: PlannedStep, text: str | None) -> None:
        if text is not None:
            self.pour(step, self._amount(step, text))

    def _amount(self, step: PlannedStep, text: str) -> float:
        return parse_quantity(text, usual=step.unit, gallon=self.session.farm.place.gallon)

    def _dipped(self, text: str) -> None:
        self.dip(text)

    def _put_off(self, reason: str | None) -> None:
        if not reason:
            return
        try:
            put_off(self.session, self.correction, reason, self.round_id)
        except RoundsError as error:
            self.say(f"✗ {error}")
            return
        self.action_walk_on()

    def _given_up(self, pair: HalfPair, reason: str | None) -> None:
        if reason is None:
            return
        try:
            give_up(self.session, pair, reason, self.correction.id, self.round_id)
        except RoundsError as error:
            self.say(f"✗ {error}")
            return
        self.post_message(WorkOutAgain(self.correction.station_id))
