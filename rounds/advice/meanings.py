"""What the readings mean, before anything is poured: thirsty, hungry, raw water got in, roots acidifying."""

from __future__ import annotations

from rounds.advice.bottle_effect import twice_suspected
from rounds.advice.case import Case
from rounds.advice.drift import ec_by_next_round
from rounds.advice.earlier import LEAST_DAYS, MOST_DAYS, poured_since, read_before, read_twice
from rounds.advice.gates import FALLING_PH_PER_DAY, MIXING_TURNOVERS, falls_by_itself
from rounds.advice.level_fall import level_fell
from rounds.book.actions import LONGEST_WAIT_H
from rounds.book.offer import Finding

_EC_MOVED = 0.06
"""A change of conductivity that is more than the meter's whim, as a share of it. [-]"""
_LEVEL_MOVED = 0.03
"""A change of level that is more than the stick's whim, as a share of the working volume. [-]"""
_BOOK_OFF = 0.4
_EC_JUMP_MS_CM = 0.6
"""As the checklist has it, so that both call the same reading hard to believe. [mS/cm]"""
DEAD_CELL_MS_CM = 0.1
"""Less than this is no feed. [mS/cm]"""
SAME_EC = 0.1
"""Two readings nearer than this are the same. [mS/cm]"""
_WARM_C, _HOT_C, _COLD_C = 24.0, 26.0, 15.0


def meanings(case: Case) -> list[Finding]:
    """What the readings say together, the most pressing first."""
    gone = level_fell(case)
    plants = _plants(case) if gone is None else None
    found = [
        gone, plants, _falling(case), twice_suspected(case), _temperature(case), _book(case), _water_analysis(case),
        _assumed(case), _unknown(case), _will_rise(case), _meters(case), _pump(case),
    ]  # fmt: skip
    return [finding for finding in found if finding is not None]


def ec_jump(case: Case) -> Finding | None:
    """A conductivity far from the one before, with nothing poured in between, and not yet read a second time."""
    now, then = case.readings.ec_ms_cm, read_before(case, "ec")
    if now is None or then is None or poured_since(case) or read_twice(case, "ec", now, SAME_EC):
        return None
    if abs(now - then) <= _EC_JUMP_MS_CM:
        return None
    return Finding(
        code="ec-jump",
        severity="act",
        text=f"EC {now:.2f} mS/cm is hard to believe after {then:.2f} before: read again, the cell rinsed and full.",
    )


def dead_cell(case: Case) -> Finding | None:
    """A conductivity of nearly nothing where there was feed: a cell that is dry or dead reads the same twice, too."""
    now = case.readings.ec_ms_cm
    if now is None or now >= DEAD_CELL_MS_CM:
        return None
    events = case.ledger.events
    renewed = max((n for n, event in enumerate(events) if event.what == "renewed"), default=-1)
    fed = [
        e for e in events[renewed + 1 :]
        if e.what == "ec" and e.at < case.readings.at and e.value >= DEAD_CELL_MS_CM
    ]  # fmt: skip
    if not fed:
        return None
    return Finding(
        code="ec-dead", severity="act",
        text=f"EC {now:.2f} mS/cm after {fed[-1].value:.2f}, and no change-out on record: a cell that is dry, dirty or "
        "dead. Nothing is fed on it. Try it in a standard; if it was filled anew, enter the change-out.",
    )  # fmt: skip


def _plants(case: Case) -> Finding | None:
    ec_now, ec_then = case.readings.ec_ms_cm, read_before(case, "ec")
    level_then = _before_litres(case)
    if ec_now is None or ec_then is None or level_then is None or not case.was_dipped or poured_since(case):
        return None
    ec_moved = (ec_now - ec_then) / max(ec_then, 0.1)
    level_moved = (case.inside_l - level_then) / case.reservoir.working_volume_l
    if ec_moved > _EC_MOVED and level_moved < -_LEVEL_MOVED:
        return Finding(code="thirsty", text="EC up and level down: the plants drink more than they eat. Plain water.")
    if ec_moved < -_EC_MOVED and level_moved < -_LEVEL_MOVED:
        return Finding(
            code="hungry", text="EC and level down: the plants eat more than they drink. Feed with the water."
        )
    if ec_moved < -_EC_MOVED and abs(level_moved) <= _LEVEL_MOVED:
        return Finding(
            code="raw-water", severity="act",
            text="EC down and the level steady: raw water got in. Look at the float valve and for rain at the lid.",
        )  # fmt: skip
    return None


def _falling(case: Case) -> Finding | None:
    fall = falls_by_itself(case)
    if fall <= FALLING_PH_PER_DAY:
        return None
    return Finding(
        code="ph-falls", severity="act",
        text=f"The pH fell by {fall:.1f} in a day without any acid: look at the roots before any base.",
    )  # fmt: skip


def _temperature(case: Case) -> Finding | None:
    t = case.readings.temperature_c
    if t is None:
        return Finding(
            code="temperature-assumed", text=f"No water temperature was read: {case.temperature_c:g} °C assumed."
        )
    if t > _WARM_C:
        severe = t > _HOT_C
        return Finding(
            code="warm", severity="act" if severe else "note",
            text=f"The feed has {t:.0f} °C: shade it, splash more; raise EC only at dusk or dawn.",
        )  # fmt: skip
    if t < _COLD_C:
        return Finding(code="cold", text=f"The feed has {t:.0f} °C: phosphate is hardly taken up below {_COLD_C:g} °C.")
    return None


def _book(case: Case) -> Finding | None:
    if case.readings.ec_ms_cm is None or case.ledger.since is None or abs(case.strength - 1.0) <= _BOOK_OFF:
        return None
    return Finding(
        code="book-off",
        text=f"EC is {case.strength:.1f} times what was entered here since the change-out would make: "
        "something was not entered, or the volume is wrong.",
    )


def _water_analysis(case: Case) -> Finding | None:
    for water in case.waters:
        if abs(water.imbalance_percent) > 5.0:
            more = "anions" if water.imbalance_percent > 0 else "cations"
            return Finding(
                code="water-unbalanced",
                text=f"The charges of the analysis of {water.name} do not balance: {abs(water.imbalance_percent):.0f} "
                f"% of the {more} are missing. Predictions go on with a wider range.",
            )
    return None


def _assumed(case: Case) -> Finding | None:
    if case.was_dipped:
        return None
    return Finding(
        code="volume-assumed",
        text=f"The level was not dipped: {case.inside_l:.0f} L assumed. Dip it, and the doses get surer.",
    )


def _unknown(case: Case) -> Finding | None:
    if not case.ledger.unknown:
        return None
    names = " and ".join(case.ledger.unknown[-3:])
    return Finding(
        code="unknown-poured", severity="act",
        text=f"{names} was poured here and is not on the shelf with its strength: what it did is not reckoned with. "
        "Enter it in shelf.toml (amount 0 where it is finished).",
    )  # fmt: skip


def _will_rise(case: Case) -> Finding | None:
    """Said, not done: what is too strong by tomorrow is thinned by the water that is missing then."""
    read, high = case.readings.ec_ms_cm, case.stage.ec[1]
    if read is None or read > high:
        return None
    then = ec_by_next_round(case, read)
    if then is None or then <= high + case.ec_sd:
        return None
    return Finding(
        code="ec-rises",
        text=f"EC is in band, but about {then:.2f} mS/cm by the next round, as it usually rises: top up with plain "
        "water, as far as there is room.",
    )


def _meters(case: Case) -> Finding | None:
    mistake = next((m for m in case.farm.mistakes if m.key.startswith("meters")), None)
    if mistake is None:
        return None
    return Finding(
        code="meters-mistaken", severity="act",
        text=f"{mistake} Until that is put right the meters are taken to be twice as far off as usual: smaller steps.",
    )  # fmt: skip


def _pump(case: Case) -> Finding | None:
    """A pump so small that three turnovers outlast any wait: what was poured cannot be tested on the same round."""
    hours = MIXING_TURNOVERS * case.turnover_min / 60.0
    if hours <= LONGEST_WAIT_H:
        return None
    return Finding(
        code="pump-too-small", severity="act",
        text=f"The pump of {case.reservoir.pump_l_min:g} L/min takes {hours:.0f} hours to turn {case.volume_l:.0f} L "
        "over three times: too small for this reservoir. What is poured must not be read before that.",
    )  # fmt: skip


def _before_litres(case: Case) -> float | None:
    from rounds.book.ledger import litres_inside

    earlier = [
        r for r in case.entries
        if LEAST_DAYS <= (case.readings.at - r.measured_at).total_seconds() / 86400.0 <= MOST_DAYS
    ]  # fmt: skip
    return litres_inside(case.reservoir, earlier)
