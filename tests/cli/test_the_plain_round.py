"""The round in plain lines: the same places, the same answers and the same records as with the screens."""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from rounds.book.actions import ASKED
from rounds.cli import main
from rounds.cli.plain import PROMPT, TOO_EARLY, PlainRound
from rounds.history.record import Record
from rounds.resources import sample_generator
from rounds.walk.dialogue import Begin, Onward, Way
from rounds.walk.dialogues import dialogue_for
from rounds.walk.guide import Guide, TheSummary
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.round import open_round
from rounds.walk.session import Session
from rounds.walk.stops import Stop

WEDNESDAY = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
BETWEEN_S = 20.0
"""So long a line takes by the stopped clock, on both ways. [s]"""
OFF = {"reservoir-1": "6.9 1.2 21"}
"""What is read where a correction is to follow."""


class Terminal:
    """Hands lines in one after the other, as they are asked for, and keeps what was written."""

    def __init__(self, lines: Iterable[str], clock: Any = None) -> None:
        self._lines, self._clock = iter(lines), clock
        self.written = ""

    def read(self) -> str | None:
        line = next(self._lines, None)
        if self._clock is not None and line is not None:
            self._clock.go_on(seconds=BETWEEN_S)
        return line

    def write(self, text: str) -> None:
        self.written += text


def walked(session: Session, *lines: str, settle_s: float = 0.0, clock: Any = None) -> tuple[Terminal, int]:
    terminal = Terminal(lines, clock)
    return terminal, PlainRound(session, terminal.read, terminal.write, settle_s=settle_s).run()


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Iterator[Session]:
    opened = Session.open(farm_folder, clock=clock)
    with opened.history:
        yield opened


def kinds(session: Session, kind: str) -> list[Record]:
    return session.history.records(kind=kind)


OFFERED = ("", "+", "6.8 1.7 21 31 +", "f9")
"""From the start to a correction of which nothing is poured; its first step is 25 L of water."""


def test_a_station_is_read_corrected_and_left_for_the_next_while_it_mixes(session: Session) -> None:
    terminal, code = walked(session, *OFFERED, "s", "", "7.0", "", "esc")
    assert code == 0
    assert [r.value for r in kinds(session, "reading")] == [6.8, 1.7, 21, 31, 7.0]
    assert [(r.item, r.value) for r in kinds(session, "dose")] == [("well", 25.0)]
    places = ("Is everything alive and running?", "Reservoir one", "Reservoir one · correction", "It mixes for 26 min",
              "Channel one")  # fmt: skip
    rest = terminal.written
    for place in places:
        assert place in rest, terminal.written
        rest = rest[rest.index(place) :]


def test_an_amount_is_written_down_as_it_was_typed(session: Session) -> None:
    terminal, _ = walked(session, *OFFERED, "s", "22,5", "esc")
    assert [r.value for r in kinds(session, "dose")] == [22.5]
    assert "Written down." in terminal.written


def test_an_amount_far_above_the_advice_is_typed_twice(session: Session) -> None:
    terminal, _ = walked(session, *OFFERED, "s", "60", "esc", "60", "61", "60", "60")
    assert [r.value for r in kinds(session, "dose")] == [60.0]
    assert "If it is not poured yet: do not." in terminal.written
    assert "the amount was not the same" in terminal.written


def test_what_was_typed_before_a_step_could_be_read_does_not_count(session: Session) -> None:
    terminal, _ = walked(session, *OFFERED, "", "12", "p", settle_s=60.0)
    assert kinds(session, "dose") == kinds(session, "step") == kinds(session, "put-off") == []
    assert terminal.written.count(TOO_EARLY) == 3


def test_a_step_taken_back_is_open_again_once_that_is_confirmed(session: Session) -> None:
    terminal, _ = walked(session, *OFFERED, "s", "22,5", "u", "esc", "u", "", "24")
    assert "Take back what was written" in terminal.written
    assert "Only if it was not poured." in terminal.written
    assert [r.value for r in kinds(session, "dose")] == [24.0]


def test_an_answer_to_what_is_asked_is_taken_back_on_its_page(session: Session) -> None:
    terminal, _ = walked(session, *OFFERED, "s", "", "6.5", "f6", "")
    assert "Take back what was written" in terminal.written
    assert [r.value for r in session.history.records(item="buffer")] == []


def test_commands_and_stations_can_be_typed_by_their_names(session: Session) -> None:
    terminal, _ = walked(session, "/ nel t", "esc", ":", ": find", "res-1 ph 6.1")
    assert "Channel two" in terminal.written
    assert "Every command" not in terminal.written
    assert "walk" in terminal.written
    assert [(r.station, r.value) for r in kinds(session, "reading")] == [("res-1", 6.1)]


def test_the_emergency_card_is_told_in_lines(session: Session) -> None:
    terminal, _ = walked(session, "!", "q")
    assert "in an eye: Rinse with running water for 15 minutes" in terminal.written


def test_a_correction_is_put_off_with_a_reason_and_esc_leaves_the_question(session: Session) -> None:
    walked(session, *OFFERED, "p", "esc")
    assert kinds(session, "put-off") == []
    terminal, _ = walked(session, "", "f9", "p", "", "no water")
    assert [r.note for r in kinds(session, "put-off")] == ["no water"]
    assert "A few words are expected" in terminal.written
    assert "Channel one" in terminal.written


def test_a_station_is_left_out_noted_and_taken_back(session: Session) -> None:
    walked(session, "ch-1", "*", "pale", "flow 1.1", "f6", "-", "dark")
    assert [r.note for r in kinds(session, "note")] == ["pale"]
    assert [(r.station, r.note) for r in kinds(session, "skip")] == [("ch-1", "dark")]
    assert kinds(session, "reading") == [], "taken back, it is not listed any more"


def test_what_is_not_written_down_at_the_end_is_said(session: Session) -> None:
    terminal, code = walked(session, "res-1", "ph 64")
    assert code == 1
    assert kinds(session, "reading") == []
    assert "is not written down yet" in terminal.written.splitlines()[-1]


def test_a_way_that_cannot_be_gone_stays_where_it_was(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    from rounds.errors import NotSaved

    def full(self: Session, *drafts: object) -> None:
        raise NotSaved("The disk is full.")

    monkeypatch.setattr(Session, "save", full)
    terminal, _ = walked(session, "", "q")
    assert "✗ The disk is full." in terminal.written
    assert "Is everything alive" not in terminal.written


def test_the_key_itself_does_what_its_name_does(session: Session) -> None:
    terminal, _ = walked(session, *OFFERED[:3], "\x1b[20~", "\x1b", "\x1bOP")
    assert "Reservoir one · correction" in terminal.written
    assert terminal.written.index("Reservoir one · correction") < terminal.written.index("Channel one")


def test_keys_and_numbers_to_call_are_told_when_asked_for(session: Session) -> None:
    terminal, _ = walked(session, "f1", "f8", "q")
    assert terminal.written.count("enter walk") == 2
    assert "No numbers are entered." in terminal.written


# ------------------------------------------------------------------------ a whole round of the sample farm, both ways


@pytest.fixture
def two_farms(tmp_path: Path) -> tuple[Path, Path]:
    sample_generator().lay_out(tmp_path / "plain", until=WEDNESDAY.date())
    shutil.copytree(tmp_path / "plain", tmp_path / "app")
    return tmp_path / "plain", tmp_path / "app"


def answers_of(stop: Stop) -> list[str]:
    """What is typed at a stop: every reading as it was last time, all well, then what is asked outright."""
    typed = [
        f"{line.item.names[0]} {line.last.value}"
        for line in stop.open_lines
        if line.item.type == "reading" and line.last is not None and isinstance(line.last.value, int | float)
    ]
    return [OFF.get(stop.station_id, " ".join(typed)), "+"]


class Typed(list[str]):
    """The lines that were typed; each takes its time."""

    def __init__(self, clock: Any) -> None:
        super().__init__()
        self._clock = clock

    def append(self, line: str) -> None:
        super().append(line)
        self._clock.go_on(seconds=BETWEEN_S)


def by_the_conversation(session: Session, clock: Any) -> list[str]:
    """Walk the morning as the app does, and give every line that was typed, in the order of the plain mode."""
    guide = Guide(session, open_round(session, "morning"))
    typed = Typed(clock)
    typed.append("")
    destination: Any = guide.lead(Begin("morning"))
    for _ in range(400):
        if isinstance(destination, TheSummary):
            typed.append("")
            assert dialogue_for(destination, guide).answer("").finished  # type: ignore[union-attr]
            return typed
        dialogue = dialogue_for(destination, guide)
        assert dialogue is not None
        way = answered(dialogue, destination, typed)
        destination = guide.lead(way)
    raise AssertionError("the round does not come to its end")


def answered(dialogue: Any, destination: Any, typed: list[str]) -> Way:
    """Answer one place until it leads on."""
    if isinstance(destination, OpenCorrection):
        return corrected(dialogue, typed)
    for line in (each for each in answers_of(destination) if each):
        typed.append(line)
        said = dialogue.press(line) if line == "+" else dialogue.answer(line)
        if said.way is not None:
            return said.way  # type: ignore[no-any-return]
    for _ in range(40):
        line = next_answer(dialogue)
        typed.append(line)
        said = dialogue.press(line) if line in ("-",) else dialogue.answer(line)
        if said.way is not None:
            return said.way  # type: ignore[no-any-return]
    raise AssertionError(dialogue.question)


def next_answer(dialogue: Any) -> str:
    if dialogue.aside is not None:
        return "no time"
    doubtful = dialogue.conversation.questions.doubtful
    if doubtful is not None:
        return "k" if doubtful.judgement.verdict == "doubtful" else "-"
    asked = dialogue.conversation.questions.asked
    if asked is not None and asked.type == "yes_no":
        return "y"
    if asked is not None and asked.type == "choice":
        return str(asked.choices[0])
    return "" if not dialogue.conversation.open_lines else "-"


def corrected(dialogue: Any, typed: list[str]) -> Way:
    """Do the steps until it mixes, then walk on."""
    for _ in range(6):
        step = dialogue.step
        if step is None or dialogue.still_mixes() is not None:
            break
        by_action = {"buffer_dip": "7.0"} | dict.fromkeys(ASKED, "s")
        typed.append(f"{step.amount:g}" if step.is_measured else by_action.get(step.action, ""))
        said = dialogue.answer(typed[-1])
        if said.way is not None:
            return said.way  # type: ignore[no-any-return]
    typed.append("esc")
    way = dialogue.press("esc").way
    assert isinstance(way, Onward)
    return way


def told(session: Session) -> list[tuple[Any, ...]]:
    """What the records of today say, without what is each device's own."""
    since = session.now().replace(hour=0, minute=0)
    return [
        (r.kind, r.station, r.item, r.value, r.unit, r.note, r.typed, r.person, r.round_id, r.measured_at, r.marks)
        for r in session.history.records(since=since)
    ]


def test_a_whole_round_by_lines_writes_the_same_as_by_the_conversation(
    two_farms: tuple[Path, Path], clock: Any
) -> None:
    plain, app = two_farms
    clock.at = WEDNESDAY
    as_app = Session.open(app, clock=clock)
    with as_app.history:
        lines = by_the_conversation(as_app, clock)
        first = told(as_app)
    assert {"dose", "reading", "check", "round", "correction"} <= {each[0] for each in first}
    clock.at = WEDNESDAY
    session = Session.open(plain, clock=clock)
    with session.history:
        terminal, code = walked(session, *lines, clock=clock)
        second = told(session)
    assert code == 0, terminal.written[-2000:]
    assert second == first, terminal.written
    assert open_round(session, "morning") is None


# -------------------------------------------------------------------------------------------- through a pipe, for real


def start(farm: Path) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "rounds", str(farm), "--plain"]
    return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8")


def until(process: subprocess.Popen[str], words: str) -> str:
    """Read until something was said; the end of what is said is an error."""
    assert process.stdout is not None
    said = ""
    while words not in said:
        character = process.stdout.read(1)
        assert character, f"“{words}” was never said:\n{said}"
        said += character
    return said


def type_line(process: subprocess.Popen[str], text: str) -> None:
    assert process.stdin is not None
    process.stdin.write(f"{text}\n")
    process.stdin.flush()


def test_killed_midway_it_goes_on_where_it_was(farm_folder: Path) -> None:
    process = start(farm_folder)
    until(process, PROMPT)
    type_line(process, "")
    until(process, "Is everything alive")
    type_line(process, "+")
    until(process, "Reservoir one")
    type_line(process, "6.0 1.7 21 31")
    until(process, "Saved 4.")
    process.kill()
    process.communicate()
    again = start(farm_folder)
    until(again, "Enter takes it up again.")
    type_line(again, "")
    assert "Is everything alive" not in until(again, "Reservoir one")
    said, _ = again.communicate("")
    assert again.returncode == 0
    assert "The round stays open." in said
    session = Session.open(farm_folder, read_only=True)
    assert [r.value for r in session.history.records(kind="reading")] == [6.0, 1.7, 21, 31]
    assert len(session.history.records(kind="round")) == 1


def test_a_stream_that_is_no_text_is_refused_in_words(
    farm_folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    stream = io.TextIOWrapper(io.BytesIO(b"\xff\xfe\x1b[A\nq\n"), encoding="utf-8")
    monkeypatch.setattr(sys, "stdin", stream)
    assert main([str(farm_folder), "--plain"]) == 0
    assert "There is no station" in capsys.readouterr().out


def test_a_pipe_that_closes_ends_it_in_peace(farm_folder: Path) -> None:
    process = start(farm_folder)
    assert process.stdout is not None
    until(process, PROMPT)
    process.stdout.close()
    type_line(process, "/")
    assert process.wait(timeout=60) == 0
