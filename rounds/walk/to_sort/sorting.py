"""The list of what is still to sort: each looked at, closed by a digit with its reason, left for later, undone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from rounds.errors import RoundsError
from rounds.history.record import Draft, Record
from rounds.text import clean_line
from rounds.walk.answering import take_back
from rounds.walk.dialogue import Aside, Reply, ToStation, Way, WithAsides
from rounds.walk.session import Session
from rounds.walk.to_sort.listing import back_on, open_matters, parked_matters
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.settle import closing, parking, refuse_to_wait
from rounds.walk.to_sort.telling import age_of, severity_of, with_place
from rounds.walk.to_sort.verbs import day_named
from rounds.walk.to_sort.words import day_text, loss_text

ANOTHER = "another reason"
USUAL = ("put right", "looked, it is well", ANOTHER)
"""Why something may be closed, where it does not say."""


class Sorting(WithAsides):
    """What is still to sort, and what is done about one of it."""

    def __init__(self, session: Session, round_id: str | None = None) -> None:
        super().__init__()
        self.session, self.round_id = session, round_id
        self._written: list[Sequence[Record]] = []

    @property
    def matters(self) -> list[OpenMatter]:
        """The worst first."""
        return open_matters(self.session)

    @property
    def later_line(self) -> str:
        """What is left for a later day, in one line; empty where nothing is."""
        today = self.session.now().date()
        told = [f"{with_place(self.session, each)} ({day_text(back_on(self.session, each), today)})"
                for each in parked_matters(self.session)]  # fmt: skip
        return f"Left for later: {'; '.join(told)}" if told else ""

    def row(self, matter: OpenMatter) -> tuple[str, str, str]:
        """A matter as a row: its sign, its sentence, its age."""
        sign = {"begun": "⧗", "carried": "↪"}.get(severity_of(matter), "!")
        return sign, with_place(self.session, matter), age_of(self.session, matter)

    def about(self, matter: OpenMatter) -> list[tuple[str, str]]:
        """What there is to know of a matter: its evidence, likely causes, what would be lost, what closes it."""
        found = [("Seen", "\n".join(matter.seen)), ("Could be", matter.could_be)]
        found.append(("At risk", loss_text(matter.what_is_lost, matter.loses)))
        found.append(("Closes by", matter.closing or "a reason"))
        return [(head, text) for head, text in found if text]

    def reasons(self, matter: OpenMatter) -> tuple[str, ...]:
        """Why it may be closed; the last is in one's own words. Half a pair is given up in words alone."""
        return matter.reasons or ((ANOTHER,) if matter.leads else USUAL)

    def close(self, matter: OpenMatter, digit: int) -> Reply:
        """Close a matter for one of its reasons, by its digit; the last is asked for."""
        reasons = self.reasons(matter)
        if not 1 <= digit <= len(reasons):
            return Reply(message=f"✗ {digit} is no reason here: 1 to {len(reasons)} are.", accepted=False)
        if reasons[digit - 1] != ANOTHER:
            return self._closed(matter, reasons[digit - 1])
        question = f"{matter.what}: what was done, or why is it closed?"
        return self.ask(Aside(code="reason", text=question, take=partial(self._closed, matter)))

    def later(self, matter: OpenMatter) -> Reply:
        """Leave a matter for a later day, which is asked for; people, animals and half a pair do not wait."""
        try:
            refuse_to_wait(matter)
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        today = self.session.now().date()
        hint = "Such as thu, 3 dec, tomorrow, or a number of days. Enter takes it, Esc leaves it."
        return self.ask(
            Aside(code="later", text=f"{matter.what}: until when?", hint=hint, take=partial(self._parked, matter),
                  check=lambda text: day_named(text, today))
        )  # fmt: skip

    def way_to(self, matter: OpenMatter) -> Way | None:
        """The page of its station; None where it is about the farm as a whole."""
        return ToStation(matter.station) if matter.station in self.session.farm.stations else None

    def undo(self) -> Reply:
        """Take the last that was settled here back."""
        if not self._written:
            return Reply(message="Nothing was settled here yet.")
        try:
            for record in self._written[-1]:
                take_back(self.session, record)
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        self._written.pop()
        return Reply(message="Taken back: it is on the list again.")

    def _closed(self, matter: OpenMatter, reason: str) -> Reply:
        said = f"Settled: {matter.what} ({clean_line(reason, 80)}). u takes it back."
        return self._saved(lambda: closing(self.session, matter, reason, round_id=self.round_id), said)

    def _parked(self, matter: OpenMatter, day: str) -> Reply:
        today = self.session.now().date()
        said = f"Left for later: {matter.what}. u takes it back."
        return self._saved(
            lambda: parking(self.session, matter, day_named(day, today), round_id=self.round_id), said
        )  # fmt: skip

    def _saved(self, drafts: Callable[[], tuple[Draft, ...]], said: str) -> Reply:
        try:
            self._written.append(self.session.save(*drafts()))
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        return Reply(message=said)
