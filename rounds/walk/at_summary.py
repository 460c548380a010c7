"""The dialogue of the end of a round: what it came to; Enter closes it."""

from __future__ import annotations

import msgspec

from rounds.errors import RoundsError
from rounds.walk.dialogue import Aside, Question, Reply, ToWalk, WithAsides, choices_of
from rounds.walk.round import Round, close_round
from rounds.walk.session import Session
from rounds.walk.summary import summarise
from rounds.walk.summary_text import begun_text, summary_page, summary_title
from rounds.walk.to_sort.leaving import YES, closing_text, ended_at_the_close
from rounds.walk.undoing import NOTHING, ask_to_take_back, last_written

CHOICES = choices_of("summary")

_LEFT_SO = "y leaves it so and closes the round; or type what ends it; Esc leaves the round open."


class AtSummary(WithAsides):
    """Looks back over one round, and closes it."""

    def __init__(self, session: Session, walk: Round) -> None:
        super().__init__()
        self.session, self.walk = session, walk
        self.title, self.begun = summary_title(session, walk), begun_text(session, walk)
        self._summary = summarise(session, walk)
        self.page = summary_page(session, walk, self._summary)

    @property
    def opening(self) -> tuple[str, ...]:
        """The page."""
        return (f"{self.title} · {self.begun}", *self.page.splitlines())

    def own_question(self) -> Question:
        """Whether it is closed."""
        return Question(code="end", hint="Enter: close the round", choices=CHOICES)

    def take(self, text: str) -> Reply:
        """Enter alone writes down that the round is closed."""
        if text:
            return Reply(message="Enter alone closes the round; Esc goes back to the walk.", accepted=False)
        left_so = closing_text(self.session)
        if left_so:
            return self.ask(Aside(code="passing", text=left_so, hint=_LEFT_SO, take=self._asked_of_states))
        return self._close()

    def _asked_of_states(self, text: str) -> Reply:
        """Close it with what is left in a passing state, or write down what ends one of them."""
        if text.casefold() in YES:
            return self._close()
        try:
            told = ended_at_the_close(self.session, text, self.walk.id)
        except RoundsError as error:
            self.take("")
            return Reply(message=f"✗ {error}", accepted=False)
        return Reply(message=f"Saved: {told}. Enter closes the round.")

    def _close(self) -> Reply:
        try:
            close_round(self.session, self.walk, self._summary.to_data())
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        return Reply(way=ToWalk())

    def take_key(self, key: str) -> Reply:
        """Esc leaves it open; `u` takes back what was written last."""
        if key == "u":
            found = last_written(self.session)
            return self.ask(ask_to_take_back(self.session, found, _to_walk)) if found else Reply(message=NOTHING)
        return Reply(way=ToWalk()) if key == "esc" else super().take_key(key)

    @property
    def typed_keys(self) -> frozenset[str]:
        """Undo."""
        return frozenset({"u"})


def _to_walk(said: Reply) -> Reply:
    return msgspec.structs.replace(said, way=ToWalk())
