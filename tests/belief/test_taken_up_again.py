"""What is stored of a belief, when it is taken up again, and what the others have shown."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import pytest
from believed import ACID_EVENT, AIR_ATM, NOON, SD, begun, event, ledger, lived, offer

from rounds.belief import state as b
from rounds.belief.curve import Curve
from rounds.belief.memory import digest, kept, resumed, that_teach, thinned
from rounds.belief.pooling import pooled_habits
from rounds.belief.response import Response
from rounds.belief.stored import BELIEVABLE, gaussian_of
from rounds.book.entries import entries_of


def test_a_belief_is_stored_and_taken_up_field_by_field(curve: Curve) -> None:
    first, last = (event("dose", hours, 5.0, **ACID_EVENT) for hours in (1.0, 2.0))
    events = (event("ph", 0.0, 6.5), event("ec", 0.5, 1.8), first, event("ph", 1.5, 8.0), last)
    answer = lived(curve, *events)
    assert len(answer.surprises) == 1 and answer.rivals and answer.dosed_since_reading
    written = kept(answer, events)
    assert (written["format"], written["last"], written["whole"][0]) == (3, "dose2.0", 4)
    assert written["at"] == (NOON + timedelta(hours=2)).isoformat()
    assert (written["closed"], written["proven"], written["tried"], written["dosed"], written["last_item"]) == (
        answer.closed, answer.proven, True, True, "acid",
    )  # fmt: skip
    again = resumed(ledger(*events), curve, SD, "r", True, entries_of([offer(written)]), events)
    for name in ("at", "closed", "proven", "tried", "dosed_since_reading", "last_item", "surprises", "rivals"):
        assert getattr(again, name) == getattr(answer, name), name
    assert again.gaussian is not None and answer.gaussian is not None
    assert again.gaussian.mean == pytest.approx(answer.gaussian.mean, abs=1e-6)
    assert again.habits.mean == pytest.approx(answer.habits.mean, abs=1e-6)
    assert kept(Response(gaussian=None, at=None, habits=b.habits()), ())["state"] is None


def marked(written: dict[str, Any]) -> dict[str, Any]:
    """The same belief with a count that nothing on record would give: by it one sees that it was taken up."""
    return written | {"closed": 99}


@pytest.mark.parametrize(("change", "taken"), [
    ({}, True), ({"format": 2}, False), ({"habits": None}, False), ({"last": "unknown"}, False),
    ({"digest": "x"}, True), ({"whole": [4, "x"]}, False), ({"whole": [0, ""]}, True), ({"whole": [99, "x"]}, True),
    ({"whole": [99, "x"], "digest": "x"}, False), ({"state": {"mean": [1.0], "covariance": [[1.0]]}}, False),
])  # fmt: skip
def test_a_belief_is_taken_up_where_its_past_still_stands(curve: Curve, change: dict[str, Any], taken: bool) -> None:
    events = (
        event("ph", 0.0, 6.5),
        event("dose", 1.0, 5.0, **ACID_EVENT),
        event("ph", 2.0, 6.2),
        event("ph", 3.0, 6.2),
    )
    written = marked(kept(lived(curve, *events), events)) | change
    found = resumed(ledger(*events), curve, SD, "r", True, entries_of([offer(written)]), events)
    assert (found.closed == 99) is taken
    elsewhere = resumed(ledger(*events), curve, SD, "other", True, entries_of([offer(written)]), events)
    assert elsewhere.closed != 99


def test_what_came_after_a_stored_belief_is_gone_through_on_top_of_it(curve: Curve) -> None:
    first, more = event("ph", 0.0, 6.5), (event("dose", 1.0, 5.0, **ACID_EVENT), event("ph", 2.0, 6.2))
    written = marked(kept(lived(curve, first), (first,)))
    found = resumed(ledger(first, *more), curve, SD, "r", True, entries_of([offer(written)]), (first, *more))
    assert found.closed == 100
    newest = marked(kept(lived(curve, first, *more), (first, *more))) | {"closed": 50}
    both = entries_of([offer(written, hours=5.0), offer(newest, hours=6.0)])
    assert resumed(ledger(first, *more), curve, SD, "r", True, both, (first, *more)).closed == 50


def test_a_fingerprint_tells_what_when_and_how_much() -> None:
    base = event("ph", 0.0, 6.5)
    later, more = event("ph", 0.1, 6.5, record_id="ph0.0"), event("ph", 0.0, 6.51)
    others = (later, more, event("dose", 0.0, 6.5, record_id="ph0.0"), event("ph", 0.0, 6.5, record_id="x"))
    assert len({digest([each]) for each in (base, *others)}) == 5
    assert digest([base]) == digest([event("ph", 0.0, 6.5, meter="pen")]) and len(digest([base])) == 16
    assert that_teach([base, event("ec", 1.0, 1.8)]) == (base,)


def test_quiet_stretches_are_left_out_and_what_lies_beside_a_dose_stays() -> None:
    quiet = [event("ph", float(n), 6.5) for n in range(12)]
    assert thinned(quiet) == tuple(quiet[-6:])
    dose = event("dose", 3.5, 5.0)
    found = thinned([*quiet[:4], dose, *quiet[4:]])
    assert found == (*quiet[2:4], dose, *quiet[4:6], *quiet[6:])
    many = [event("dose", float(n), 5.0) for n in range(30)]
    assert thinned(many) == tuple(many[-20:])


def shown(mean: float, sd: float, closed: int = 3) -> dict[str, Any]:
    """A stored belief of a reservoir where CO2 rests at another pressure, and all else is as usual."""
    start = begun()
    means, rows = list(start.mean), [list(row) for row in start.covariance]
    for row in rows:
        row[b.PRESSURE] = row[b.RESTING] = 0.0
    rows[b.PRESSURE], rows[b.RESTING] = [0.0] * 7, [0.0] * 7
    rows[b.PRESSURE][b.PRESSURE] = 0.1
    means[b.RESTING], rows[b.RESTING][b.RESTING] = mean, sd * sd
    return {"state": {"mean": means, "covariance": [row[: i + 1] for i, row in enumerate(rows)]}, "closed": closed}


def test_a_new_reservoir_begins_between_the_usual_and_what_the_others_have_shown() -> None:
    """By hand: weights 1 / (0.4 * 0.65²) of the usual and 1 / (0.2² + 0.6 * 0.65²) of the other."""
    usual, other = math.log(3.0 * AIR_ATM), math.log(9.0 * AIR_ATM)
    spread = 0.65**2
    weights = 1.0 / (0.4 * spread), 1.0 / (0.04 + 0.6 * spread)
    found = pooled_habits([offer(shown(other, 0.2), "other")], "r", True)
    assert found.mean[0] == pytest.approx((weights[0] * usual + weights[1] * other) / sum(weights))
    assert found.sd(0) == pytest.approx(math.sqrt(0.6 * spread + 1.0 / sum(weights)))
    for alone in ([], [offer(shown(other, 0.2), "r")], [offer(shown(other, 0.2, closed=2), "other")],
                  [offer({"closed": 5}, "other")], [offer(shown(5.0, 0.2), "other")]):  # fmt: skip
        bare = pooled_habits(alone, "r", True)
        assert bare.mean == pytest.approx(b.habits().mean)
        assert [bare.sd(i) for i in range(4)] == pytest.approx([b.habits().sd(i) for i in range(4)])
    newest = pooled_habits([offer(shown(other, 0.2), "other"), offer(shown(usual, 0.2), "other", 6.0)], "r", True)
    assert newest.mean[0] == pytest.approx(usual)
    assert pooled_habits([], "r", False).mean[1] == pytest.approx(math.log(0.08))
    assert len(BELIEVABLE) == 7


@pytest.mark.parametrize(("number", "low", "high"), [
    (b.PH, 3.0, 10.0), (b.PHOSPHATE, -8.0, 4.0), (b.PRESSURE, -15.0, 1.0), (b.RESTING, -15.0, 1.0),
    (b.LEAVING, -9.0, 5.0), (b.ARRIVING, -3.0, 3.0), (b.PLANTS, -9.0, 9.0),
])  # fmt: skip
def test_what_can_be_believed_at_all_of_the_seven_numbers(number: int, low: float, high: float) -> None:
    """pH 3 to 10, 0.0003 to 55 mmol/L, less than 3 atm, hours to days, a twentieth to twenty times, 9 meq/L a day."""
    start = list(begun().mean)
    for value, believed in ((low, True), (high, True), (low - 0.01, False), (high + 0.01, False)):
        start[number] = value
        rows = [[0.0] * n + [0.01] for n in range(7)]
        assert (gaussian_of({"mean": start, "covariance": rows}, BELIEVABLE) is not None) is believed


def test_a_slip_that_was_kept_is_undone_by_the_next_reading_too(curve: Curve) -> None:
    """The correction in between was saved: what was believed before the slip is taken up from it."""
    first, slip, right = event("ph", 0.0, 6.6), event("ph", 0.9, 8.1), event("ph", 1.1, 6.6)
    written = kept(lived(curve, first, slip), (first, slip))
    records = entries_of([offer(written, hours=1.0)])
    events = (first, slip, right)
    found = resumed(ledger(*events), curve, SD, "r", True, records, events)
    assert found.surprise is None and found.surprises == ()
    assert found.gaussian is not None and found.gaussian.mean[b.PH] == pytest.approx(6.6, abs=0.02)
    before = {key: value for key, value in written.items() if key != "passed_over"}
    old = resumed(ledger(*events), curve, SD, "r", True, entries_of([offer(before, hours=1.0)]), events)
    assert len(old.surprises) >= 1, "a record of before says nothing of it, and is read even so"
