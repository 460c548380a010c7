"""A pump by jug and clock; and with the pump off, the water that runs back."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rounds.errors import BadInput, OutOfRange
from rounds.farm.stations import Reservoir
from rounds.farm.volumes import dip_to_litres
from rounds.science.repeated import flow_by_jug_l_min, furthest_off, mean_of
from rounds.walk.measuring.asking import Ask, Outcome, Way, done
from rounds.walk.measuring.error_texts import in_words
from rounds.walk.measuring.numbers import number_within, numbers_of
from rounds.walk.session import Session

TIMES = 3
RUNS_BACK_S = 300.0
"""So long the channels drain before the second dip: practice. [s]"""
_HALF_WIDTH = 1.645
"""Of 90 % in standard deviations. [-]"""
Caught = tuple[float, float]


def pump(session: Session, reservoir_id: str) -> Way:
    """Ask three times for litres and seconds, once more where one is not like the others.

    Raises
    ------
    NotFound
        Where there is no such reservoir.
    """
    farm = session.farm
    reservoir = farm.reservoir(reservoir_id)
    caught: list[Caught] = []
    while len(_alike(caught)) < TIMES:
        caught.append((yield _catch(reservoir, caught)))
    flows = [flow_by_jug_l_min(*each) for each in _alike(caught)]
    found = mean_of(flows)
    low, high = found.value - _HALF_WIDTH * found.sd, found.value + _HALF_WIDTH * found.sd
    told = " · ".join(f"{each:.1f}" for each in flows)
    return Outcome(
        value=round(found.value, 3), sd=round(found.sd, 3), unit="L/min", how="by jug and clock",
        lines=(f"{reservoir.name}: {found.value:.1f} L/min, between {low:.1f} and {high:.1f}.", f"One by one: {told}."),
        beside={"rows": [list(each) for each in caught]},
    )  # fmt: skip


def _alike(caught: Sequence[Caught]) -> list[Caught]:
    """Those that belong together: of four or more the one that is furthest off is left out."""
    kept = list(caught)
    while (off := furthest_off([flow_by_jug_l_min(*each) for each in kept])) is not None:
        kept.pop(off)
    return kept


def _catch(reservoir: Reservoir, caught: Sequence[Caught]) -> Ask:
    def read(text: str) -> Caught:
        numbers = numbers_of(text)
        if len(numbers) != 2:
            raise in_words(BadInput, "pump-two-numbers")
        flow_by_jug_l_min(*numbers)
        return numbers[0], numbers[1]

    odd = len(caught) >= TIMES
    seconds = 60.0 * 10.0 / reservoir.pump_l_min
    how = (
        "Catch all that the pump sends round, where it usually leaves the hose; or channel by channel, added up.",
        f"Half a minute or more is best: 10 L take about {seconds:.0f} s at {reservoir.pump_l_min:g} L/min.",
    )
    place = "once more" if odd else f"{len(caught) + 1} of {TIMES}"
    lines = ("One of them is not like the others, so it is caught once more.",) if odd else how
    return Ask(
        code="catch", text=f"Jug and clock, {place}: how many litres in how many seconds?", read=read,
        told=lambda each: f"{each[0]:g} L in {each[1]:g} s: {flow_by_jug_l_min(*each):.1f} L/min",
        lines=lines, hint="Litres and seconds, such as: 10 31",
    )  # fmt: skip


def pump_off(session: Session, reservoir_id: str) -> Way:
    """Ask for a dip with the pump running, and for one five minutes after it was switched off.

    Raises
    ------
    NotFound
        Where there is no such reservoir.
    """
    farm = session.farm
    reservoir = farm.reservoir(reservoir_id)
    first_cm = yield _dip_running(reservoir)
    yield Ask(
        code="off", settle=True,
        text="Switch the pump off. Enter when it is off.", read=done, told=lambda _: "the pump is off",
        lines=("Plants stand well for ten minutes; in hot sun do it in the morning.",),
        hint="Enter alone: it is off, and the five minutes begin",
    )  # fmt: skip
    second_cm = yield _dip_at_rest(reservoir, first_cm)
    yield Ask(
        code="on", settle=True,
        text="Switch the pump on again. Enter when it runs.", read=done,
        told=lambda _: "the pump runs again",
        lines=("Look whether every channel gets water.",), hint="Enter alone: it runs",
    )  # fmt: skip
    (first_l, first_error), (second_l, second_error) = (dip_to_litres(reservoir, cm) for cm in (first_cm, second_cm))
    back = max(second_l - first_l, 0.0)
    sd = math.hypot(first_error, second_error) / _HALF_WIDTH
    roots = sum(channel.roots_l for channel in farm.channels_of(reservoir_id))
    return Outcome(
        value=round(back, 2), sd=round(sd, 2), unit="L", how="with the pump off",
        lines=(
            f"{reservoir.name}: {back:.1f} L ran back, give or take {_HALF_WIDTH * sd:.1f}.",
            f"It is in pipes and channels while the pump runs. The roots hold {roots:g} L besides, by farm.toml.",
        ),
        beside={"rows": [[first_cm, round(first_l, 2)], [second_cm, round(second_l, 2)]]},
    )  # fmt: skip


def _dip(reservoir: Reservoir, text: str) -> float:
    cm = number_within(text, 0.0, 1000.0, "A dip", "cm", usual="cm")
    dip_to_litres(reservoir, cm)
    return cm


def _dip_running(reservoir: Reservoir) -> Ask:
    return Ask(
        code="dip-running", text="The pump runs as always. Dip: how many cm?", read=lambda text: _dip(reservoir, text),
        told=lambda cm: f"{cm:g} cm while the pump runs", hint="The dip in cm",
        lines=("Every channel is wet to its end; read where the water is quiet.",),
    )  # fmt: skip


def _dip_at_rest(reservoir: Reservoir, first_cm: float) -> Ask:
    def read(text: str) -> float:
        cm = _dip(reservoir, text)
        if cm < first_cm - reservoir.dip_error_cm / 2.0:
            raise in_words(OutOfRange, "pump-off-dip", cm=cm, before=first_cm)
        return cm

    return Ask(
        code="dip-at-rest", text="Five minutes after: dip again. How many cm?", read=read, wait_s=RUNS_BACK_S,
        told=lambda cm: f"{cm:g} cm with the pump off", hint="The dip in cm",
        lines=("Watch that it does not run over. The same place, the same stick.",),
    )  # fmt: skip
