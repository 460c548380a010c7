"""What the readings mean, before anything is poured: thirsty, hungry, raw water got in, roots acidifying."""

from __future__ import annotations

from rounds.advice.bottle_effect import twice_suspected
from rounds.advice.case import MIXING_TURNOVERS, Case
from rounds.advice.drift import ec_by_next_round
from rounds.advice.earlier import LEAST_DAYS, MOST_DAYS, poured_since, read_before, read_twice
from rounds.advice.gates import FALLING_PH_PER_DAY, falls_by_itself
from rounds.advice.level_fall import level_fell
from rounds.book.actions import LONGEST_WAIT_H
from rounds.book.message import say
from rounds.book.offer import Finding, act, note

_EC_MOVED = 0.06
"""A change of conductivity that is more than the meter's whim, as a share of it. [-]"""
_LEVEL_MOVED = 0.03
"""A change of level that is more than the stick's whim, as a share of the working volume. [-]"""
_BOOK_OFF = 0.4
_EC_JUMP_MS_CM = 0.6
"""As the checklist has it, so that both call the same reading hard to believe. [mS/cm]"""
DEAD_CELL_MS_CM = 0.1
"""Less than this is no feed. [mS/cm]"""
FRESH_H = 6.0
"""So long the CO2 of a fill makes its pH. [h]"""
SAME_EC = 0.1
"""Two readings nearer than this are the same. [mS/cm]"""
_WARM_C, _HOT_C, _COLD_C = 24.0, 26.0, 15.0


def meanings(case: Case) -> list[Finding]:
    """What the readings say together, the most pressing first."""
    gone = level_fell(case)
    plants = _plants(case) if gone is None else None
    found = [
        gone, plants, _falling(case), twice_suspected(case), _temperature(case), _book(case), _water_analysis(case),
        _assumed(case), _unknown(case), _will_rise(case), _meters(case), _pump(case), _fresh(case),
    ]  # fmt: skip
    return [finding for finding in found if finding is not None]


def _fresh(case: Case) -> Finding | None:
    """A fresh fill of which nobody said how much of its CO2 is gone already."""
    since = case.ledger.since
    if since is None or case.ledger.filled_how or case.readings.ph is None:
        return None
    hours = (case.readings.at - since).total_seconds() / 3600.0
    return note("fresh-fill", hours=hours) if 0.0 <= hours <= FRESH_H else None


def ec_jump(case: Case) -> Finding | None:
    """A conductivity far from the one before, with nothing poured in between, and not yet read a second time."""
    now, then = case.readings.ec_ms_cm, read_before(case, "ec")
    if now is None or then is None or poured_since(case) or read_twice(case, "ec", now, SAME_EC):
        return None
    if abs(now - then) <= _EC_JUMP_MS_CM:
        return None
    return act("ec-jump", now=now, then=then)


def dead_cell(case: Case) -> Finding | None:
    """A conductivity of nearly nothing where there was feed: a cell that is dry or dead reads the same twice, too."""
    now = case.readings.ec_ms_cm
    if now is None or now >= DEAD_CELL_MS_CM:
        return None
    then = _last_of_feed(case)
    return None if then is None else act("ec-dead", now=now, then=then)


def _last_of_feed(case: Case) -> float | None:
    """The last conductivity of the feed of now that was that of a feed. [mS/cm]"""
    for event in reversed(case.ledger.events):
        if event.what == "renewed":
            return None
        if event.what == "ec" and event.at < case.readings.at and event.value >= DEAD_CELL_MS_CM:
            return event.value
    return None


def _plants(case: Case) -> Finding | None:
    moved = _ec_and_level_moved(case)
    if moved is None:
        return None
    ec_moved, level_moved = moved
    if ec_moved > _EC_MOVED and level_moved < -_LEVEL_MOVED:
        return note("thirsty")
    if ec_moved < -_EC_MOVED and level_moved < -_LEVEL_MOVED:
        return note("hungry")
    if ec_moved < -_EC_MOVED and abs(level_moved) <= _LEVEL_MOVED:
        return act("raw-water")
    return None


def _ec_and_level_moved(case: Case) -> tuple[float, float] | None:
    """How EC and level went since the round before with nothing poured, as shares; None where that is not known."""
    ec_now, ec_then = case.readings.ec_ms_cm, read_before(case, "ec")
    level_then = _before_litres(case)
    if ec_now is None or ec_then is None or level_then is None or not case.was_dipped or poured_since(case):
        return None
    return (ec_now - ec_then) / max(ec_then, 0.1), (case.inside_l - level_then) / case.reservoir.working_volume_l


def _falling(case: Case) -> Finding | None:
    fall = falls_by_itself(case)
    if fall <= FALLING_PH_PER_DAY:
        return None
    return act("ph-falls", fall=fall)


def _temperature(case: Case) -> Finding | None:
    t = case.readings.temperature_c
    if t is None:
        return note("temperature-assumed", temperature_c=case.temperature_c)
    if t > _WARM_C:
        return act("warm", t=t) if t > _HOT_C else note("warm", t=t)
    if t < _COLD_C:
        return note("cold", t=t, least=_COLD_C)
    return None


def _book(case: Case) -> Finding | None:
    if case.readings.ec_ms_cm is None or case.ledger.since is None or abs(case.strength - 1.0) <= _BOOK_OFF:
        return None
    return note("book-off", times=case.strength)


def _water_analysis(case: Case) -> Finding | None:
    for water in case.waters:
        if abs(water.imbalance_percent) > 5.0:
            missing = say("anions") if water.imbalance_percent > 0 else say("cations")
            percent = abs(water.imbalance_percent)
            return note("water-unbalanced", water=water.name, percent=percent, missing=missing)
    return None


def _assumed(case: Case) -> Finding | None:
    if case.was_dipped:
        return None
    return note("volume-assumed", litres=case.inside_l)


def _unknown(case: Case) -> Finding | None:
    if not case.ledger.unknown:
        return None
    return act("unknown-poured", names=case.ledger.unknown[-3:])


def _will_rise(case: Case) -> Finding | None:
    """Said, not done: what is too strong by tomorrow is thinned by the water that is missing then."""
    read, high = case.readings.ec_ms_cm, case.stage.ec[1]
    if read is None or read > high:
        return None
    then = ec_by_next_round(case, read)
    if then is None or then <= high + case.ec_sd:
        return None
    return note("ec-rises", then=then)


def _meters(case: Case) -> Finding | None:
    mistake = next((m for m in case.farm.mistakes if m.key.startswith("meters")), None)
    if mistake is None:
        return None
    return act("meters-mistaken", mistake=str(mistake))


def _pump(case: Case) -> Finding | None:
    """A pump so small that three turnovers outlast any wait: what was poured cannot be tested on the same round."""
    hours = MIXING_TURNOVERS * case.turnover_min / 60.0
    if hours <= LONGEST_WAIT_H:
        return None
    return act("pump-too-small", pump_l_min=case.reservoir.pump_l_min, hours=hours, litres=case.volume_l)


def _before_litres(case: Case) -> float | None:
    from rounds.book.ledger import litres_inside

    earlier = [
        r for r in case.entries
        if LEAST_DAYS <= (case.readings.at - r.measured_at).total_seconds() / 86400.0 <= MOST_DAYS
    ]  # fmt: skip
    return litres_inside(case.reservoir, earlier)
