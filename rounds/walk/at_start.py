"""The dialogue of the whole walk: how the round stands; Enter starts it or takes it up again."""

from __future__ import annotations

from collections.abc import Callable

from rounds.checklist.due import ROUND_STARTS
from rounds.text import clean_line
from rounds.walk.dialogue import Begin, Leave, Question, Reply, ToEnd, ToStation, choices_of
from rounds.walk.doings.model import Place
from rounds.walk.doings.with_doings import WithDoings
from rounds.walk.finding import find
from rounds.walk.matters import Figure
from rounds.walk.measuring.leading import is_measure, reply_to
from rounds.walk.overview import file_lines, first_lines, heading, state_text, to_sort_lines
from rounds.walk.round import current_round, left_open, open_round
from rounds.walk.session import Session
from rounds.walk.telling import matters, told
from rounds.walk.to_sort.telling import listed

WIDTH = 80
ON_SCREEN = frozenset("idlort")
"""Keys of the first screen that open what has no lines, or act on the bar."""
MOST_TOLD = 5
"""So many of what is still to sort are told; `j` lists all of it."""


class AtStart(WithDoings):
    """Shows the walk, leads into it, and names a station out of turn."""

    def __init__(self, session: Session, round_name: str | None = None) -> None:
        super().__init__()
        self.session = session
        self.round_name = round_name or current_round(session)
        """The round of this time of day, or another that was chosen."""

    @property
    def opening(self) -> tuple[str, ...]:
        """The day and the round; then what is to be told, in the order of the first screen."""
        session, name = self.session, self.round_name
        due = session.due(name)
        return (
            f"{session.farm.name} · {heading(session.now(), name, width=WIDTH)}",
            *(each.line for each in matters(session, "walker") if session.is_helper),
            *first_lines(session),
            *state_text(session, name, due, width=WIDTH).splitlines(),
            *to_sort_lines(session, width=WIDTH, most=MOST_TOLD),
            *(each.line for each in matters(session, "slow")),
            *file_lines(session),
        )

    asks_of_older = False
    """The walk is not left by going to a station; what is still in a passing state stands on it."""

    def is_answer(self, text: str) -> bool:
        """Whether a line is, or begins with, the name of a station: `store room` is no slip of `storm`."""
        return self._station_meant(text) is not None

    def place_of_doing(self) -> Place:
        """The farm as a whole."""
        walk = open_round(self.session, self.round_name)
        return Place(session=self.session, station=None, at=self.session.now(), round_id=walk.id if walk else None)

    def elsewhere(self, station_id: str, line: str) -> ToStation:
        """A verb of one station alone leads there: what was understood is shown there, before it is saved."""
        return ToStation(station_id, line, round_name=self.round_name)

    @property
    def not_saved(self) -> str:
        """What was done and is not written down yet."""
        return self.unsaved_doing

    def own_question(self) -> Question:
        """Where to."""
        can_close = bool(open_round(self.session, self.round_name) or left_open(self.session))
        gone = {*ON_SCREEN, *(() if can_close else "c"), *("b" if self.session.is_helper else "")}
        return Question(
            code="walk",
            hint="Enter walks; the name of a station opens it, and takes what is typed behind it",
            choices=tuple(each for each in choices_of("walk") if each.key not in gone),
        )

    @property
    def typed_keys(self) -> frozenset[str]:
        """Undo and find."""
        return frozenset({"u", "/"})

    def take_key(self, key: str) -> Reply:
        """Take back what was written last, or list the stations."""
        if key == "/":
            return find(self.session, "", round_name=self.round_name)
        return self._undo() if key == "u" else super().take_key(key)

    def _undo(self) -> Reply:
        """Say what this person wrote last today; Enter takes it back."""
        from rounds.walk.undoing import NOTHING, ask_to_take_back, last_written  # not needed before the first screen

        found = last_written(self.session)
        if not found:
            return Reply(message=NOTHING)
        return self.ask(ask_to_take_back(self.session, found, lambda said: said))

    def take(self, text: str) -> Reply:
        """Take Enter alone, a letter, or the name of a station."""
        doings: dict[str, Callable[[], Reply]] = {
            "": lambda: Reply(way=Begin(self.round_name)),
            "a": self._other_round,
            "c": lambda: Reply(way=ToEnd(self.round_name)),
            "j": lambda: Reply(paper="\n".join(listed(self.session))),
            "b": self._shelf,
            "q": lambda: Reply(way=Leave()),
        }
        if text.startswith("/"):
            return find(self.session, text[1:], round_name=self.round_name)
        return doings[text.casefold()]() if text.casefold() in doings else self._to_station(text)

    def _other_round(self) -> Reply:
        """Show the next of morning, midday and dusk."""
        names = list(ROUND_STARTS)
        self.round_name = names[(names.index(self.round_name) + 1) % len(names)]
        return Reply(paper="\n".join(self.opening))

    def _shelf(self) -> Reply:
        if self.session.is_helper:
            return Reply(message="The shelf is the grower's.")
        found = told(self.session, "shelf")
        figures = [f"{each.label}: {each.value:g} {each.unit}" for each in found if isinstance(each, Figure)]
        return Reply(paper="\n".join([*(each.line for each in matters(self.session, "shelf")), *figures]))

    def _to_station(self, text: str) -> Reply:
        if is_measure(text):
            return reply_to(self.session, text)
        found = self._station_meant(text)
        if found is None:
            return Reply(message=f"✗ There is no station “{clean_line(text, 40)}”: / lists them.", accepted=False)
        return Reply(way=ToStation(found[0], found[1], round_name=self.round_name))

    def _station_meant(self, text: str) -> tuple[str, str] | None:
        """The station that a line names, and what is typed behind its id; None where it names none."""
        stations, typed = self.session.farm.stations.values(), text.casefold()
        named = next((each.id for each in stations if typed in (each.id.casefold(), each.name.casefold())), None)
        if named is not None:
            return named, ""
        first, _, line = text.partition(" ")
        known = {each.id.casefold(): each.id for each in stations}
        return (known[first.casefold()], line.strip()) if line.strip() and first.casefold() in known else None
