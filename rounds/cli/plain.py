"""`rounds FARM --plain`: the round in plain lines, for a pipe, a screen reader or a slow line.

The same guide leads, and the same dialogues ask and answer; here they are only read and written. Keys that are no
letter are typed as their names: `esc`, `f6`.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterable
from time import monotonic
from typing import TextIO

from rounds.cli.output import done
from rounds.cli.stopping import let_keys_interrupt
from rounds.errors import RoundsError
from rounds.walk.at_start import AtStart
from rounds.walk.bell import Bell
from rounds.walk.dialogue import EVERYWHERE_CHOICES, Dialogue, Leave, Question, Reply, ToStation, ToWalk, Way
from rounds.walk.dialogues import dialogue_for
from rounds.walk.guide import Guide
from rounds.walk.key_table import MEANINGS, key_of
from rounds.walk.round import current_round, open_round
from rounds.walk.session import Session

SETTLE_S = 0.7
"""A line that comes so soon after a step was shown was typed before it could be read. [s]"""
TOO_EARLY = "✗ This was typed before the step stood here, and is left out. Read it, then type it again."
KEYS = frozenset({"+", "-", "/", "*", "u", "esc", "f9", *(key for each in MEANINGS.values() for key in each.also)})
"""What is a key of a dialogue where it stands alone on a line."""
SENT_BY_KEYS = {"\x1b": "esc", "\x1bOP": "f1", "\x1b[11~": "f1", "\x1b[17~": "f6", "\x1b[19~": "f8", "\x1b[20~": "f9"}
"""What a terminal sends where such a key itself is pressed before Enter: the sequences of xterm and its kin."""
PROMPT = "▶ "

Read = Callable[[], str | None]
Write = Callable[[str], object]


class PlainRound:
    """Leads one person through a round by lines."""

    def __init__(self, session: Session, read: Read, write: Write, *, settle_s: float = SETTLE_S) -> None:
        """Begin.

        Parameters
        ----------
        read : callable
            Gives the next line, None where there is none any more.
        write : callable
            Shows one text, of a line or several.
        """
        self.session = session
        self.guide = Guide(session, open_round(session, current_round(session)))
        self._read, self._write, self._settle_s = read, write, settle_s
        self._bell = Bell(session)
        self._choices: dict[str, tuple[str, ...]] = {}
        """The choices as they were told last, by the code of the question: said again only where they differ."""
        self._said = ""

    def run(self) -> int:
        """Walk until nothing more is typed.

        Returns
        -------
        int
            1 where something was typed that is not written down.
        """
        dialogue: Dialogue = AtStart(self.session)
        self._tell(dialogue.opening)
        while True:
            way = self._talk(dialogue)
            if way is None or isinstance(way, Leave):
                return self._farewell(dialogue)
            dialogue = self._next(dialogue, way)

    def run_at(self, dialogue: Dialogue) -> int:
        """Ask and answer at one place alone, until it is done or nothing more is typed."""
        self._tell(dialogue.opening)
        return self._farewell(dialogue) if self._talk(dialogue) is None else 0

    def _talk(self, dialogue: Dialogue) -> Way | None:
        """Ask and answer until it leads on; None where nothing more is typed."""
        while True:
            question = dialogue.question
            self._ask(question)
            shown_at = monotonic()
            line = self._read()
            if line is None:
                return None
            text = SENT_BY_KEYS.get(line.strip(), line.strip())
            if question.settle and text.casefold() not in KEYS and monotonic() - shown_at < self._settle_s:
                self._tell([TOO_EARLY])
                continue
            said = self._taken(dialogue, question, text)
            if said is not None and said.way is not None:
                return said.way

    def _taken(self, dialogue: Dialogue, question: Question, text: str) -> Reply | None:
        word = key_of(text)
        if word == "?":
            self._tell([*dialogue.help(), *_choice_lines(question)])
        elif word == "!":
            self._tell(self._emergency_lines())
        elif word == ":":
            self._tell(_command_lines(question))
        elif word.startswith(":"):
            return self._commanded(dialogue, question, text[1:].strip())
        else:
            said = dialogue.press(word) if word in KEYS else dialogue.answer(text)
            self._show(said)
            return said
        return None

    def _commanded(self, dialogue: Dialogue, question: Question, text: str) -> Reply | None:
        """Do what a command is called; what is called so by none is a line."""
        named = [each for each in question.choices if each.word.casefold().startswith(text.casefold())]
        if len(named) != 1:
            return self._taken(dialogue, question, text)
        return self._taken(dialogue, question, "" if named[0].key == "enter" else named[0].key)

    def _next(self, dialogue: Dialogue, way: Way) -> Dialogue:
        """Go where it leads; the same dialogue again where that cannot be gone now."""
        try:
            following = dialogue_for(self.guide.lead(way), self.guide)
        except RoundsError as error:
            self._tell([f"✗ {error}"])
            return dialogue
        self._tell([*self.guide.told, *(f"✗ {sentence}" for sentence in self.guide.said)])
        self.guide.told.clear()
        self.guide.said.clear()
        if following is None:
            start = AtStart(self.session, None if isinstance(way, ToWalk) else self.guide.shown)
            self._tell(["", *start.opening])
            return start
        self._tell(["", *following.opening])
        if isinstance(way, ToStation) and way.line:
            said = following.answer(way.line)
            self._show(said)
            return self._next(following, said.way) if said.way is not None else following
        return following

    def _ask(self, question: Question) -> None:
        """Say what has mixed meanwhile, what is asked, and what may be answered."""
        self.session.gate.refresh()
        waits = self._bell.countdown()
        choices = tuple(_choice_lines(question))
        is_new = self._choices.get(question.code) != choices
        self._choices[question.code] = choices
        asked = [] if question.text in self._said else [question.text]
        self._tell([*self._bell.rung(), *([waits] if waits and is_new else []), *question.lines, *asked])
        self._tell([question.hint, *(choices if is_new else ())])
        self._write(PROMPT)

    def _show(self, said: Reply) -> None:
        self._said = said.message
        self._tell([*([f"! {said.alarm}"] if said.alarm else []), *said.paper.splitlines(), said.message])

    def _tell(self, lines: Iterable[str]) -> None:
        for line in lines:
            if line:
                self._write(f"{line}\n")

    def _emergency_lines(self) -> tuple[str, ...]:
        from rounds.relief.emergency import card_lines  # wanted once a year, and then at once

        return card_lines(self.session.farm)

    def _farewell(self, dialogue: Dialogue) -> int:
        lost = dialogue.not_saved
        self._write("\n")
        self._tell([f"✗ {lost}."] if lost else [])
        if self.guide.round is not None and open_round(self.session, self.guide.round.name) is not None:
            self._tell(["The round stays open. What was said to be saved is; Enter takes it up again next time."])
        return 1 if lost else 0


def run(session: Session, at: Callable[[], Dialogue] | None = None) -> int:
    """Walk the round on standard input and output; or only talk at one place."""
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")
    let_keys_interrupt()
    done("What was said to be saved is saved.")
    echo = not sys.stdin.isatty()

    def read() -> str | None:
        line = _line_of(sys.stdin)
        if line is not None and echo:
            print(line)
        return line

    def write(text: str) -> None:
        print(text, end="", flush=True)

    with session.history:
        if at is None:
            return PlainRound(session, read, write).run()
        return PlainRound(session, read, write, settle_s=0.0 if echo else SETTLE_S).run_at(at())


def _line_of(stream: TextIO) -> str | None:
    """The next line without its end; None at the end of the input, or where it is broken off."""
    try:
        line = stream.readline()
    except KeyboardInterrupt:
        return None
    return line.rstrip("\r\n") if line else None


def _choice_lines(question: Question) -> list[str]:
    told = " · ".join(f"{each.key} {each.word}" for each in (*question.choices, *EVERYWHERE_CHOICES))
    return [told] if question.choices else []


def _command_lines(question: Question) -> list[str]:
    """Every command by its name, with what it does."""
    told = {key: meaning.told for key, meaning in MEANINGS.items()}
    return [f"{each.key:<6} {each.word:<16} {told.get(each.key, '')}".rstrip() for each in question.choices]
