"""Plants, shelf, bottles, probes and the farm as a whole: each effect against a book kept by hand."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.book.entries import Doing, Reading
from rounds.farm.stations import Channel, Flock
from rounds.walk.daybook.sentences import record_text
from rounds.walk.dialogue import Reply
from rounds.walk.doings.text import doing_text
from rounds.walk.session import Session
from rounds.walk.stock import left_now

Does = Callable[..., Reply]


def channel(session: Session, id: str = "ch-1") -> Channel:
    found = session.farm.station(id)
    assert isinstance(found, Channel)
    return found


def last_doing(session: Session) -> Doing:
    return Doing(session.history.records(kind="doing")[-1])


# 13 plants on 14 sites, set on 1 November; it is 25 November.


@pytest.mark.parametrize(("lines", "planted"), [
    (["lost 2", ""], 11),
    (["pulled 3", ""], 10),
    (["pulled all", ""], 0),
    (["pulled", "all", ""], None),
    (["cut 12 regrows", ""], 13),
    (["cut 12", "y", ""], 13),
    (["cut 12", "n", ""], 1),
    (["cut 12 gone", ""], 1),
    (["picked 3.2 kg", ""], 13),
    (["picked 9 heads", ""], 13),
    (["planted 1", ""], 14),
    (["lost 2", "", "planted 3", ""], 14),
    (["lost 2", "", "f6"], 13),
    (["pulled all", "", "planted 12", "", "lost 1", ""], 11),
])  # fmt: skip
def test_plants_as_they_are_now(session: Session, does: Does, lines: list[str], planted: int | None) -> None:
    said = does(session, "ch-1", *lines)
    if planted is None:
        assert not said.accepted and channel(session).planted == 13
    else:
        assert channel(session).planted == planted
    assert session.filed.station("ch-1").planted == 13  # type: ignore[attr-defined]  # a channel


def test_a_channel_that_was_planted_anew_counts_its_days_from_then(session: Session, does: Does) -> None:
    does(session, "ch-1", "pulled all", "")
    assert channel(session).planted_on is None
    does(session, "ch-1", "planted 12 pak choi", "")
    assert (channel(session).planted_on, channel(session).crop) == (date(2026, 11, 25), "pak choi")
    does(session, "ch-1", "planted 2", "")
    assert channel(session).planted == 14


def test_a_gap_that_is_filled_leaves_the_day_of_planting(session: Session, does: Does) -> None:
    does(session, "ch-1", "lost 2", "", "planted 2", "")
    assert (channel(session).planted_on, channel(session).crop) == (date(2026, 11, 1), "lettuce")


def test_sites_are_never_exceeded(session: Session, does: Does) -> None:
    said = does(session, "ch-1", "planted 2")
    assert said.message == "✗ 2 do not fit: 13 of the 14 sites are planted. Nothing is written." and not said.accepted


def test_a_planting_that_the_file_names_later_is_newer(
    session: Session, does: Does, farm_folder: Path, clock: Any
) -> None:
    does(session, "ch-1", "pulled all", "", "planted 12", "")
    path = farm_folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace("planted_on = 2026-11-01", "planted_on = 2026-11-26", 1)
    path.write_text(text, encoding="utf-8")
    assert channel(Session.open(farm_folder, clock=clock)).planted == 13


def test_lost_plants_answer_what_the_checklist_asks(session: Session, does: Does) -> None:
    does(session, "ch-1", "lost 2", "")
    (check,) = session.history.records(kind="check")
    assert (check.item, check.value) == ("losses", 2)


@pytest.mark.parametrize(("line", "sentence"), [
    ("picked -3", "✗ -3 kg cannot be."),
    ("picked 2.5 heads", "✗ 2.5 is not a count of pieces."),
    ("picked 0 kg", "✗ 0 kg cannot be."),
    ("pulled 40", "✗ There are only 13 plants, not 40."),
    ("lost 1 2", "✗ Two numbers, 1 and 2: which is meant?"),
    ("cut 3 kg", "✗ 3 kg: in which unit?"),
    ("sprayed soap until 1 nov 2026", "✗ 1 November 2026 is over."),
    ("sprayed soap until soon", "✗ “soon” is no day."),
    ("well", "✗ Channel one is not marked sick. + says that all is well."),
    ("calibrated", "✗ `calibrated` makes no sense at Channel one. It is typed at Reservoir one."),
    ("plantd 3", "✗ “plantd” is nothing that can be typed here. Did you mean `planted`?"),
    ("bought 5 l soup", "✗ “soup” is nothing on the shelf. It has: Leaf A, Leaf B, Working nitric acid"),
    ("bought 5 l leaf", "✗ “leaf” can mean leaf-a or leaf-b. Type one of them."),
    ("bought 5 kg nitric", "✗ “kg” is not a unit of the kind wanted here. A number in L is expected."),
    ("outage 20 days", "✗ 20 days: in which unit? Type it with min or h, such as 20 min."),
])  # fmt: skip
def test_what_cannot_be_is_one_sentence(session: Session, does: Does, line: str, sentence: str) -> None:
    said = does(session, "ch-1", line)
    assert said.message.startswith(sentence)
    assert not said.accepted and session.history.records() == []


def test_pieces_or_kilos_are_asked(session: Session, does: Does) -> None:
    assert does(session, "ch-1", "picked 14").message == "? 14 of what? 1 pieces · 2 kg"
    does(session, "ch-1", "picked 14", "1", "")
    assert (last_doing(session).number, last_doing(session).unit) == (14.0, "pieces")
    does(session, "ch-1", "picked 500 g basil", "")
    assert (last_doing(session).number, last_doing(session).unit, last_doing(session).note) == (0.5, "kg", "basil")


def test_a_sick_channel_is_walked_last_and_in_turn_once_it_is_well(session: Session, does: Does) -> None:
    before = session.walk_order()
    assert before.index("ch-1") < before.index("hens") < before.index("ch-2")  # ch-2 is sick by its file
    does(session, "ch-1", "sick brown roots", "")
    assert session.walk_order().index("hens") < session.walk_order().index("ch-1")
    does(session, "ch-1", "well", "")
    does(session, "ch-2", "well", "")
    order = session.walk_order()
    assert order.index("ch-1") < order.index("ch-2") < order.index("hens")
    does(session, "ch-1", "sick", "", "f6")
    assert session.walk_order() == order


def test_a_waiting_time_is_entered_and_never_supplied(session: Session, does: Does) -> None:
    assert "as the label says" in does(session, "ch-1", "sprayed soap").message
    does(session, "ch-1", "sprayed soap", "3", "")
    assert (last_doing(session).until, last_doing(session).note) == (date(2026, 11, 28), "soap")
    does(session, "ch-1", "sprayed soap", "0", "")
    assert last_doing(session).until is None
    assert doing_text(session, last_doing(session)) == "Sprayed, no waiting time"
    does(session, "hens", "wormed label name until 3 dec", "")
    assert last_doing(session).until == date(2026, 12, 3)


def test_what_was_bought_is_on_the_shelf(session: Session, does: Does) -> None:
    does(session, "res-1", "poured 500 ml nitric", "")  # 2 L by the shelf's file, of 1 November
    assert left_now(session)["nitric-8"] == pytest.approx(1.5)
    said = does(session, "res-1", "bought 5 l nitric", "")
    assert said.message == "Saved: 5 L of Working nitric acid bought; 6.5 L on the shelf then."
    assert left_now(session)["nitric-8"] == pytest.approx(6.5)
    does(session, "res-1", "bought 800 ml nitric", "", "f6")
    assert left_now(session)["nitric-8"] == pytest.approx(6.5)


def test_a_new_bottle_is_a_new_batch(session: Session, does: Does, clock: Any) -> None:
    does(session, "res-1", "swapped nitric", "")
    assert session.farm.opened == {"nitric-8": clock.at - timedelta(minutes=1)}  # when it was typed, before Enter
    assert getattr(session.farm.shelf["nitric-8"], "made_on") == date(2026, 11, 25)  # noqa: B009  # only bottles have it
    does(session, "res-1", "swapped pump", "")
    assert record_text(session, session.history.records(kind="doing")[-1]) == "Reservoir one: New pump"
    assert set(session.farm.opened) == {"nitric-8"}


def test_a_jar_of_the_bottle_before_says_nothing_of_the_new_one(session: Session, does: Does, clock: Any) -> None:
    from rounds.book.composition import feed_known
    from rounds.book.ledger import ledger_of
    from rounds.history.record import Draft

    farm, reservoir = session.farm, session.farm.reservoir("res-1")
    jar = {"product": "nitric-8", "ml_per_l": 0.2}
    session.save(Draft(kind="reading", station="res-1", item="jar", value=5.8, measured_at=session.now(), data=jar))

    def jars() -> int:
        feed = feed_known(farm, farm.feeds[reservoir.feed])
        book = ledger_of(session.farm, reservoir, feed, session.history.records(), session.now())
        return sum(event.what == "jar" for event in book.events)

    assert jars() == 1
    does(session, "res-1", "swapped nitric", "")
    assert jars() == 0
    does(session, "res-1", "bought 1 l nitric", "")
    assert jars() == 0


# Probes.


def test_what_it_showed_before_is_asked_and_judges_what_was_read(session: Session, does: Does, clock: Any) -> None:
    does(session, "res-1", "buffer 7.02")  # within 0.1: it was right then
    clock.go_on(days=3)
    asked = does(session, "res-1", "calibrated 7.00")
    assert asked.message == "? What did it show *before*, in the buffer of 7? A number, or `unknown`"
    said = does(session, "res-1", "calibrated 7.00", "7.25", "")
    assert said.message == (
        "Saved: pH probe calibrated in 7, 7.25 before: pH read since 25 November was about 0.25 too high."
    )
    doing = last_doing(session)
    assert (doing.before, doing.was_off, doing.meter) == (7.25, 0.25, "pen-1")
    assert doing.off_since is not None and doing.off_since.date() == date(2026, 11, 25)


def test_unknown_is_no_verdict(session: Session, does: Does) -> None:
    does(session, "res-1", "calibrated 7.00", "unknown", "")
    doing = last_doing(session)
    assert (doing.before, doing.was_off, doing.off_since) == (None, None, None)


def test_two_buffers_are_one_calibration_and_another_number_is_not(session: Session, does: Does) -> None:
    does(session, "res-1", "calibrated 7.00 4.01 unknown", "")
    assert (last_doing(session).number, last_doing(session).note) == (7.0, "4.01")
    assert "Two numbers, 7.00 and 7.25" in does(session, "res-1", "calibrated 7.00 7.25").message


def test_near_enough_is_no_verdict_either(session: Session, does: Does) -> None:
    does(session, "res-1", "calibrated before 7.05", "")
    assert (last_doing(session).before, last_doing(session).was_off) == (7.05, None)


def test_a_probe_that_shows_9_in_the_buffer_of_7_must_be_said_twice(session: Session, does: Does) -> None:
    said = does(session, "res-1", "calibrated 7.00", "9")
    assert said.message.startswith("! 9 in the buffer of 7 is 2 off: such a probe is not calibrated but cleaned")
    assert session.history.records() == []
    does(session, "res-1", "calibrated 7.00", "9", "9")
    assert last_doing(session).was_off == 2.0


def test_calibrating_answers_the_check_of_that_name(session: Session, does: Does) -> None:
    does(session, "res-1", "calibrated before unknown", "")
    assert [(r.item, r.value) for r in session.history.records(kind="check")] == [("calibrated", True)]
    newest = session.history.latest_by_item()["res-1", "calibrated"]
    assert newest.kind == "check"
    does(session, "res-1", "calibrated n")
    assert session.history.latest_by_item()["res-1", "calibrated"].value is False


def test_a_probe_that_was_checked_is_a_dip_in_the_buffer(session: Session, does: Does) -> None:
    does(session, "res-1", "checked ph 7.02", "")
    (dip,) = [Reading(record) for record in session.history.records(kind="reading")]
    assert (dip.item, dip.number, dip.buffer_ph) == ("buffer", 7.02, 7.0)
    does(session, "res-1", "checked ec 1.40", "")
    assert len(session.history.records(kind="reading")) == 1


# The farm as a whole, the hose, words that say all.


def test_a_storm_makes_fall_due_what_hangs_on_it(session: Session, does: Does) -> None:
    def fence() -> bool:
        return any(d.item.id == "fence" for s in session.due("morning") if s.station_id == "hens" for d in s.items)

    does(session, "hens", "+")
    assert not fence()
    does(session, "ch-1", "storm two panes gone", "")
    (event,) = session.history.records(kind="event")
    assert (event.station, event.item, event.note) == ("", "storm", "two panes gone")
    assert fence()


def test_an_outage_in_minutes(session: Session, does: Does) -> None:
    does(session, "res-1", "outage 2 h", "")
    (event,) = session.history.records(kind="event")
    assert (event.item, event.value, event.unit) == ("outage", 120.0, "min")
    assert record_text(session, event) == "Power was out for 120 min"


def test_the_hose(session: Session, does: Does) -> None:
    does(session, "res-1", "hose 12", "")
    assert (last_doing(session).verb, last_doing(session).number, last_doing(session).runs) == ("hose", 12.0, True)
    does(session, "res-1", "hose off", "?", "")
    assert last_doing(session).runs is False
    assert doing_text(session, last_doing(session)) == "Hose off"


def test_birds_bought_and_sold_and_eggs_that_are_no_birds(session: Session, does: Does) -> None:
    def birds() -> int:
        flock = session.farm.station("hens")
        assert isinstance(flock, Flock)
        return flock.birds

    does(session, "hens", "bought 5", "")
    assert birds() == 17
    does(session, "hens", "sold 2 hens", "")
    assert birds() == 15
    does(session, "hens", "sold 12 eggs", "")
    assert birds() == 15
    assert doing_text(session, last_doing(session)) == "12 eggs sold"


def test_yesterday_and_at_a_time(session: Session, does: Does, clock: Any) -> None:
    does(session, "hens", "dead 1 yesterday", "")
    assert session.history.records(kind="doing")[0].measured_at.isoformat() == "2026-11-24T12:00:00+00:00"
    does(session, "hens", "dead 1 at 5:40", "")
    assert session.history.records(kind="doing")[-1].measured_at.isoformat() == "2026-11-25T05:40:00+00:00"
    assert not does(session, "hens", "dead 1 at 23:40").accepted
