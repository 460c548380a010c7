"""How a reservoir answers: the belief carried through everything that was read and poured since its last change-out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from rounds.belief import state as b
from rounds.belief.curve import Curve
from rounds.belief.first_reading import first_belief
from rounds.belief.gaussian import Gaussian
from rounds.belief.jar import LESS_BUFFERED, after_jar, overshot, within_curve
from rounds.book.ledger import UNKNOWN_DOUBT, Ledger, LedgerEvent

REPLAY_POINTS = 24
"""Points of the cloud while the past is gone through: enough for means and spreads."""
RIVAL_POINTS = 16
RIVAL_EVIDENCE = 3.4
"""From e to this power on (thirty to one) another account of what was poured is taken up. [-]"""
SURPRISE_SD = 3.3
"""A reading this many standard deviations off is not explained by what was done. [-]"""
_HEAD_START = 1.2
"""Nothing arrives three times as often as bottles change places, as `hypotheses` has it: its logarithm. [-]"""
TWICE = "twice"
"""The account that is only spoken of: it stops nothing, since a weak buffer looks much the same."""
_CLEARLY_SD = 3.0
_UNKNOWN = (0.5, 0.1, 0.3, 0.0, 0.0, 0.0, 0.0)
"""What a dose of nobody knows what may have moved: variances in the order of the belief."""
_AGREES_SD = 2.0
SAME_VISIT = timedelta(hours=2)
"""So long a second reading can speak against the first."""
_RIVALS_FOR = timedelta(days=2)
_SAME_MOMENT = timedelta(minutes=3)
_LOOSENED_PER_DAY = (0.02, 0.04, 0.06, 0.06, 0.03, 0.01, 0.015)
"""What may change unseen in a day, in the order of the belief: standard deviations. Practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surprise:
    """A reading far outside what was expected."""

    at: datetime
    read: float
    expected: float
    sd: float
    after_dose: bool
    rival: str = ""
    """What would explain it far better: `nothing`, `other way` or `far more`; empty where nothing simple does."""
    item: str = ""
    """What was poured last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rival:
    """Another account of what was poured: the pH it leads to, and how much better it has explained the readings."""

    name: str
    ph: float
    sd: float
    evidence: float = 0.0
    """Logarithm of how many times likelier it made the readings so far; never below 0."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """What is believed of a reservoir after its last event."""

    gaussian: Gaussian | None
    """None where no pH was ever read."""
    at: datetime | None
    habits: Gaussian
    closed: int = 0
    """How many doses of acid or base were followed by a reading."""
    proven: int = 0
    """How many of them since the feed was last renewed."""
    tried: bool = False
    """Whether acid or base was poured since the last reading."""
    surprise: Surprise | None = None
    """Whether the last reading was one, and nothing read since has agreed."""
    dosed_since_reading: bool = False
    surprises: tuple[Surprise, ...] = ()
    """The last few, whether or not they were cleared up."""
    rivals: tuple[Rival, ...] = ()
    """Other accounts of the doses since the last surprise."""
    last_item: str = ""
    passed_over: Gaussian | None = None
    """What was believed right before a surprising reading, until the next one says which of the two to go by."""
    contested: float | None = None
    """The reading that was passed over, until a third says that it was rightly so. [-]"""


def followed(ledger: Ledger, curve: Curve, meter_sd: dict[str | None, float], habits: Gaussian) -> Response:
    """Carry the belief through the events of a ledger, oldest first."""
    answer = Response(gaussian=None, at=None, habits=habits)
    for event in ledger.events:
        answer = after_event(answer, event, ledger, curve, meter_sd)
    return answer


def after_event(
    answer: Response, event: LedgerEvent, ledger: Ledger, curve: Curve, meter_sd: dict[str | None, float]
) -> Response:
    """The answer once one more event is taken in."""
    if event.what == "renewed":
        kept = b.habits_of(answer.gaussian) if answer.gaussian else answer.habits
        return replace(answer, gaussian=None, at=event.at, habits=kept, surprise=None, dosed_since_reading=False,
                       proven=0, tried=False)  # fmt: skip
    if event.what in ("ec", "strip", "buffer", "checked", "filled"):
        return answer
    if event.what == "jar":
        return _after_jar(answer, event, curve, meter_sd.get(event.meter, meter_sd.get(None, 0.07)))
    if event.what == "ph":
        sd = meter_sd.get(event.meter, meter_sd.get(None, 0.07))
        return _after_reading(answer, event, ledger, curve, sd)
    if answer.gaussian is None:
        return answer
    state = waited(answer, curve, event.at)
    if event.doubt >= UNKNOWN_DOUBT and event.what == "dose":
        return replace(answer, gaussian=state.loosened(_UNKNOWN), at=event.at, rivals=(), dosed_since_reading=False)
    if event.what == "dose":
        cloud = b.dosed(state, curve, event.parcel, REPLAY_POINTS)
    else:
        cloud = b.diluted(state, curve, event.share, event.parcel, event.doubt, REPLAY_POINTS)
    return replace(
        answer,
        gaussian=b.stirred(state, cloud),
        at=event.at,
        passed_over=None,
        dosed_since_reading=True,
        tried=answer.tried or event.what == "dose",
        rivals=_rivals(answer, state, event, ledger, curve),
        last_item=event.item,
    )


def _after_jar(answer: Response, event: LedgerEvent, curve: Curve, sd: float) -> Response:
    """A jar test tells of buffer and CO2; one that nothing explains is left to the bank of faults.

    Where it went further than expected, the water is held to be less buffered: so will the reservoir do, whatever the
    reason.
    """
    if answer.gaussian is None or event.of_water:
        return answer
    state = waited(answer, curve, event.at)
    learned, expected, spread = after_jar(state, curve, event.parcel, event.value, sd)
    surprising = abs(within_curve(event.value) - expected) / spread > SURPRISE_SD
    if surprising and overshot(event.parcel, event.value, expected):
        learned = after_jar(state.loosened(LESS_BUFFERED), curve, event.parcel, event.value, sd)[0]
    elif surprising:
        learned = state
    return replace(answer, gaussian=learned, at=event.at)


def waited(answer: Response, curve: Curve, now: datetime, points: int = REPLAY_POINTS) -> Gaussian:
    """The belief moved on to a later moment, with what may have happened meanwhile."""
    if answer.gaussian is None or answer.at is None:
        raise ValueError("nothing is believed yet")
    hours = (now - answer.at).total_seconds() / 3600.0
    if hours * 60.0 < _SAME_MOMENT.total_seconds() / 60.0:
        return answer.gaussian
    days = min(hours / 24.0, 10.0)
    state = b.summed_up(b.aged(answer.gaussian, curve, hours, points))
    return state.loosened([sd * sd * days for sd in _LOOSENED_PER_DAY])


def _after_reading(answer: Response, event: LedgerEvent, ledger: Ledger, curve: Curve, sd: float) -> Response:

    if answer.gaussian is None:
        state = first_belief(ledger, curve, answer.habits, event.value, sd, event)
        return replace(answer, gaussian=state, at=event.at)
    answer = _outlier_undone(replace(answer, contested=None), event, curve, sd)
    state = waited(answer, curve, event.at)
    expected, spread = state.mean[b.PH], math.hypot(state.sd(b.PH), sd)
    rivals = _weighed(answer.rivals, event.value, expected, spread, sd) if answer.dosed_since_reading else ()
    told = "other way" if _went_the_other_way(rivals, event.value, expected, sd) else _far_likelier(rivals)
    if told or abs(event.value - expected) / spread > SURPRISE_SD:
        return _surprised(answer, event, state, expected, spread, sd, told)
    tried = int(answer.tried)
    return replace(
        answer, gaussian=state.seen(b.PH, event.value, sd), at=event.at, closed=answer.closed + tried,
        proven=answer.proven + tried, tried=False, surprise=None, dosed_since_reading=False,
        rivals=rivals or answer.rivals, passed_over=None,
    )  # fmt: skip


def _outlier_undone(answer: Response, event: LedgerEvent, curve: Curve, sd: float) -> Response:
    """The answer as it was before a surprising reading, where the one now agrees with that and not with the surprise.

    A slip of the eye, a bubble at the probe: one reading in a hundred means nothing.
    """
    before, last = answer.passed_over, answer.surprises[-1] if answer.surprises else None
    if before is None or last is None or answer.at is None or event.at - last.at > SAME_VISIT:
        return answer
    if not agrees(before, event.value, sd) or abs(event.value - last.read) < _CLEARLY_SD * sd:
        return answer
    return replace(
        answer, gaussian=before, surprise=None, surprises=answer.surprises[:-1], passed_over=None,
        tried=last.after_dose, dosed_since_reading=last.after_dose, contested=last.read,
    )  # fmt: skip


def agrees(before: Gaussian, read: float, sd: float) -> bool:
    """Whether a reading lies where it was expected, within two standard deviations."""
    return abs(read - before.mean[b.PH]) <= _AGREES_SD * math.hypot(before.sd(b.PH), sd)


def _rivals(answer: Response, state: Gaussian, event: LedgerEvent, ledger: Ledger, curve: Curve) -> tuple[Rival, ...]:
    """Where the pH would be had nothing been poured, or a dose of the other kind, or twice as much, or far more."""
    if event.what != "dose" or ledger.events[-1].at - event.at > _RIVALS_FOR:
        return ()
    before = {rival.name: rival.evidence for rival in answer.rivals}
    found = [Rival(name="nothing", ph=state.mean[b.PH], sd=state.sd(b.PH), evidence=before.get("nothing", 0.0))]
    for name, times in (("other way", -1.0), (TWICE, 2.0), ("far more", 3.0)):
        there = b.summed_up(b.dosed(state, curve, event.parcel.times(times), RIVAL_POINTS))
        found.append(Rival(name=name, ph=there.mean[b.PH], sd=there.sd(b.PH), evidence=before.get(name, 0.0)))
    return tuple(found)


def _weighed(
    rivals: Sequence[Rival], read: float, expected: float, spread: float, meter_sd: float
) -> tuple[Rival, ...]:

    own = _log_likelihood(read - expected, spread)
    return tuple(
        replace(
            rival,
            evidence=max(0.0, rival.evidence + _log_likelihood(read - rival.ph, math.hypot(rival.sd, meter_sd)) - own),
        )
        for rival in rivals
    )


def _far_likelier(rivals: Sequence[Rival]) -> str:
    """The account that explains the readings far better; empty where none does."""
    best = max((r for r in rivals if r.name != TWICE), key=_with_head_start, default=None)
    return best.name if best is not None and best.evidence > RIVAL_EVIDENCE else ""


def _with_head_start(rival: Rival) -> float:
    return rival.evidence + (_HEAD_START if rival.name == "nothing" else 0.0)


def _went_the_other_way(rivals: Sequence[Rival], read: float, expected: float, meter_sd: float) -> bool:
    """Whether the pH moved clearly against the dose."""
    for rival in rivals:
        if rival.name == "nothing":
            moved, meant = read - rival.ph, expected - rival.ph
            return moved * meant < 0.0 and abs(moved) > _CLEARLY_SD * math.hypot(rival.sd, meter_sd)
    return False


def _log_likelihood(off: float, sd: float) -> float:
    return -0.5 * (off / sd) ** 2 - math.log(sd)


def _surprised(
    answer: Response, event: LedgerEvent, state: Gaussian, expected: float, spread: float, sd: float, rival: str
) -> Response:
    """Believe the reading for now, and nothing firm about buffer and CO2."""

    surprise = Surprise(
        at=event.at, read=event.value, expected=expected, sd=spread, after_dose=answer.dosed_since_reading,
        rival=rival, item=answer.last_item,
    )  # fmt: skip
    loose = state.replaced(b.PH, event.value, max(2.0 * sd, 0.15)).loosened((0.0, 0.15, 0.3, 0.0, 0.0, 0.0, 0.0))
    return replace(answer, gaussian=loose, at=event.at, surprise=surprise, dosed_since_reading=False, tried=False,
                   rivals=(), surprises=(*answer.surprises, surprise)[-4:], passed_over=state)  # fmt: skip
