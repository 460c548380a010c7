"""Whatever is typed behind a verb, and whatever is answered: a sentence or one meaning, never a fault."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from rounds.book.gate import entry_of_draft
from rounds.errors import RoundsError
from rounds.history.record import Draft
from rounds.walk.doings.at_once import understood_at_once
from rounds.walk.doings.model import Ask, Place, Understood
from rounds.walk.doings.table import BY_WORD, VERBS, help_lines
from rounds.walk.doings.text import doing_text
from rounds.walk.doings.understanding import verb_of, way_of
from rounds.walk.session import Session

NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
WORDS = (
    "1 2 12 40 -3 0 1.5 7.00 9 20l 3kg 5 l ml kg pieces days min all a b acid ph ec well rain nitric leaf "
    "before unknown until 3 dec mon yesterday at 6:40 2026-11-24 2026-12-24 regrows gone off on pump "
    "probe bottle eggs hens basil for the up out steps [/b] \x1b[31m ٣ 1,234.5 nan 1e9 ½ "
)
SAID = "1 2 y n 0 20 9 unknown well steps soap "
LINES = st.builds(
    lambda verb, rest: " ".join([verb, *rest]),
    st.sampled_from(sorted(BY_WORD)),
    st.lists(st.sampled_from(WORDS.split()) | st.text(max_size=8), max_size=6),
)
ANSWERS = st.lists(st.sampled_from(SAID.split(" ")), max_size=8)


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory, lay_out_farm: Callable[[Path], Path]) -> Iterator[Session]:
    folder = lay_out_farm(tmp_path_factory.mktemp("typed") / "farm")
    opened = Session.open(folder, clock=lambda: NOW)
    with opened.history:
        yield opened


def place(session: Session, station: str) -> Place:
    found = session.farm.stations.get(station)
    return Place(session=session, station=found, at=NOW, items=session.items(found) if found is not None else ())


def meaning(session: Session, station: str, line: str, answers: list[str]) -> Understood | None:
    """What a line comes to; None where it is no doing, is refused, or is still asked about."""
    here, left = place(session, station), list(answers)
    try:
        verb = verb_of(here, line)
        if verb is None:
            return None
        way = way_of(here, verb, line)
        asked: Ask = next(way)
        while left:
            try:
                read = asked.read(left.pop(0))
            except RoundsError:
                continue
            asked = way.send(read)
    except StopIteration as end:
        understood: Understood = end.value
        return understood
    except RoundsError as error:
        assert error.sentence and "\n" not in str(error)
    return None


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(line=LINES, answers=ANSWERS, station=st.sampled_from(["res-1", "ch-1", "hens", ""]))
@example(line="calibrated 7.00", answers=["9"], station="res-1")
@example(line="refilled 170 a 850 b 850 acid 20", answers=[], station="res-1")
@example(line="sprayed until", answers=["soap", "3"], station="ch-1")
def test_a_line_is_refused_or_asked_or_means_one_thing_that_can_be_saved(
    session: Session, line: str, answers: list[str], station: str
) -> None:
    found = meaning(session, station, line, answers)
    if found is None or not found.drafts:
        return
    session.gate.ask(*found.drafts, by=session.person)
    for draft in found.drafts:
        assert draft.measured_at <= NOW
        assert isinstance(draft.value, int | float | bool | None)
        assert draft.value is None or draft.value > 0 or draft.kind != "dose"
    assert doing_text(session, entry_of_draft(found.drafts[0]))
    again = meaning(session, station, found.drafts[0].typed or line, answers)
    assert again is not None and [(d.item, d.value, d.unit) for d in again.drafts] == [
        (d.item, d.value, d.unit) for d in found.drafts
    ]


WORDS_ALONE = ("refilled", "calibrated", "sick", "well", "cleaned", "swapped", "fixed", "later")
"""Verbs behind which a number counts nothing: of `fixed` and `later` all words are a name, a day or a reason."""
COUNTED = [verb for verb in VERBS if verb.word not in WORDS_ALONE]


@pytest.mark.parametrize("verb", COUNTED, ids=lambda verb: verb.word)
def test_two_numbers_are_never_two_meanings(session: Session, verb: Any) -> None:
    for station in ("res-1", "ch-1", "hens", ""):
        found = meaning(session, station, f"{verb.word} 1 2", ["1"])
        values = [draft.value for draft in found.drafts] if found is not None else []
        assert not values or verb.word in ("sprayed", "wormed", "storm"), (station, values)


@pytest.mark.parametrize("verb", VERBS, ids=lambda verb: verb.word)
def test_every_verb_has_an_example_that_is_understood_where_it_makes_sense(session: Session, verb: Any) -> None:
    assert verb.example.startswith(verb.word)
    kinds = {"res-1": "reservoir", "ch-1": "channel", "hens": "hens", "": ""}
    places = [each for each, kind in kinds.items() if kind in verb.at]
    if not places:
        assert verb.at <= {"ferment"}
        return
    if verb.word in ("fixed", "later"):
        session.save(Draft(kind="check", station="ch-1", item="stream", value="weaker", measured_at=session.now()))
        places = ["ch-1"]  # where something is to sort
    if verb.word == "well":
        places = ["ch-2"]  # which is sick
    rest = "1 basil" if verb.word == "planted" else verb.example.removeprefix(verb.word).strip()  # one site is free
    for word in (verb.word, *verb.also):
        found = meaning(session, places[0], f"{word} {rest}", ["170", "850", "850", "0", "0", "y", "soap", "3"])
        assert found is not None, (places[0], word, rest)


def test_twelve_stand_in_the_help() -> None:
    assert len(help_lines()) == 12
    assert all(len(line) < 80 for line in help_lines())


def test_no_word_stands_for_two_verbs() -> None:
    words = [word for verb in VERBS for word in (verb.word, *verb.also)]
    assert len(words) == len(set(words))


def test_what_asks_nothing_is_understood_at_once(session: Session) -> None:
    found = understood_at_once(place(session, "hens"), "dead 1")
    assert found is not None and found.drafts[0].value == 1
    assert understood_at_once(place(session, "hens"), "eggs 9") is None
