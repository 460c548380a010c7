"""One account gone through what was read and poured: what would be believed, were one thing not as told."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache

from rounds.belief import state as b
from rounds.belief.curve import Curve, curve_of
from rounds.belief.first_reading import first_belief, water_belief
from rounds.belief.gaussian import Gaussian
from rounds.belief.hypotheses import Hypothesis
from rounds.belief.jar import LESS_BUFFERED, after_jar, overshot, within_curve
from rounds.belief.response import SAME_VISIT, agrees
from rounds.book.ledger import Ledger, LedgerEvent
from rounds.book.parcel import Parcel

POINTS = 16
"""Points of the clouds: enough for means and spreads."""
OUTLIER = 0.01
"""Share of readings that mean nothing: practice. [-]"""
_ANYWHERE = 0.2
"""Likelihood of such a reading, over the five units of pH in which a meter may show anything. [1/pH]"""
SEEN_RIGHT = 0.3
"""How often a wrong bottle, a standing pump or a dead corner is looked at and seems right: a guess. What is in a bottle
whose label was copied wrongly, nobody sees. [-]"""
LOOKED_AT = {"bottles": ("bottle", "water", "weak"), "calibrated": ("stuck", "meter")}
"""By the item of a check: the sorts of faults that would mostly be noticed by it."""
STRIP_SD = 0.3
"""Error of a pH strip, or of a second meter that nobody checked: one pad. [-]"""
BUFFER_SD = 0.1
"""How near a sound meter comes to a buffer. [-]"""
_STANDS_STILL_SD = 0.05
"""How much a stuck meter still moves. [-]"""
_LEAST_BY_CHEMISTRY = 1.0
"""Readings that only fit better without it do not take a meter that reads high below this share of its prior. [-]"""
_MOST_BY_CHEMISTRY = 10.0
"""A meter that reads low makes no dose too strong: readings that fit better with it make it only so many times as
likely as its prior, and strips must tell the rest. [-]"""
_FIRST_PH_SD = 0.6
"""How far a first reading may lie from the middle of what reservoirs show. [-]"""
_PER_DAY = (0.02, 0.04, 0.06, 0.06, 0.03, 0.01, 0.1)
"""What may change unseen in a day, in the order of the belief: standard deviations. Practice."""
_JAR_C = 18.0
"""Of a jar of water. [degC]"""
_SAME_MOMENT_H = 0.2
"""Shorter waits are put together: CO2 hardly moves in them. [h]"""
NEXT_DAY_H = 14.0
"""After so long a meter is tried afresh: a pH that stood still overnight is no proof that it is stuck. [h]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What the accounts of one bottle at one reservoir are worked out with."""

    ledger: Ledger
    curve: Curve
    meter_sd: Mapping[str | None, float]
    habits: Gaussian
    item: str
    """Id of the bottle that is asked about."""
    supposed: Gaussian
    """What is believed of the reservoir where no reading can be trusted."""
    priors: Mapping[str, float]
    """Weights to start from, by code; those of `hypotheses` where one is missing."""
    counted_from: Mapping[str, datetime]
    """By code: what was read until then is in the prior already."""


def likelihood(off: float, sd: float) -> float:
    """How likely a reading lies so far from what was expected. [1/pH]"""
    bell = math.exp(-0.5 * (off / sd) ** 2) / (sd * math.sqrt(2.0 * math.pi))
    return (1.0 - OUTLIER) * bell + OUTLIER * _ANYWHERE


def _softer(water: Parcel, times: float) -> Parcel:
    """A water with so many times its alkalinity, and its carbonate with it."""
    if times == 1.0:
        return water
    return replace(water, alkalinity_meq_l=times * water.alkalinity_meq_l, carbonate=times * water.carbonate)


def _is_after(at: datetime | None, since: datetime | None) -> bool:
    return since is None or at is None or at > since


def _summed(evidence: Sequence[tuple[datetime | None, float]], since: datetime | None) -> float:
    return math.fsum(value for at, value in evidence if _is_after(at, since))


@lru_cache(maxsize=4)
def _water(event: LedgerEvent, times: float) -> tuple[Gaussian, Curve]:
    """What is believed of a water that a jar test was made with, were it so many times as strong as analysed."""
    water = event.solution.scaled(times)
    curve = curve_of(water, _JAR_C)
    return water_belief(water, event.doubt, curve, b.habits()), curve


class Following:
    """One account while the events are gone through."""

    def __init__(self, setting: Setting, hypothesis: Hypothesis) -> None:
        self.setting, self.hypothesis = setting, hypothesis
        self.state: Gaussian | None = None
        self.at: datetime | None = None
        """How far the CO2 has been followed."""
        self.now: datetime | None = None
        self.shown: float | None = None
        """What a stuck meter shows."""
        self.begun = max(setting.priors.get(hypothesis.code, hypothesis.prior), 1e-12)
        self.evidence: list[tuple[datetime | None, float]] = []
        """When something was read, and the logarithm of how likely that was."""
        self.seen_right: list[datetime | None] = []
        """When bottle, label and pump were looked at."""
        self.jar_was_odd = False
        self.before_jar: Gaussian | None = None
        """What was believed before a jar that nothing explained, until the next one says which of the two was right."""
        self.passed_over: tuple[Gaussian, float, datetime] | None = None
        """What was believed right before a reading that did not fit, that reading, and when."""
        self.told: list[tuple[datetime | None, float]] = []
        """When a strip or a second meter was read, and the logarithm of how likely that was."""

    def log_odds(self, sound: Following) -> float:
        """Logarithm of how likely it is against the sound account: the prior, and what was read since."""
        since = self.setting.counted_from.get(self.hypothesis.code)
        odds = math.log(self.begun) + _summed(self.evidence, since) - _summed(sound.evidence, since)
        if self.hypothesis.sort == "meter":
            odds = max(odds, math.log(self.begun * _LEAST_BY_CHEMISTRY))
            if self.hypothesis.reads_high < 0.0:
                odds = min(odds, math.log(max(self.begun, _MOST_BY_CHEMISTRY * self.hypothesis.prior)))
        odds += math.log(SEEN_RIGHT) * sum(_is_after(at, since) for at in self.seen_right)
        return odds + _summed(self.told, since) - _summed(sound.told, since)

    def take(self, event: LedgerEvent) -> None:
        """Take in one event."""
        self._wait(event.at)
        if event.what == "renewed":
            self.state = None
        elif event.what == "ph":
            self._read(event)
        elif event.what == "strip":
            self._strip(event.value)
        elif event.what == "buffer":
            self._buffer(event)
        elif event.what == "checked":
            if self.hypothesis.sort in LOOKED_AT.get(event.item, ()):
                self.seen_right.append(self.now)
        elif self.state is not None:
            self._moved(event, self.state)

    def _wait(self, until: datetime) -> None:
        self.now = until
        if self.at is not None and self.state is not None:
            hours = (until - self.at).total_seconds() / 3600.0
            if hours <= _SAME_MOMENT_H:
                return
            days = min(hours / 24.0, 10.0)
            state = b.summed_up(b.aged(self.state, self.setting.curve, hours, POINTS))
            self.state = state.loosened([sd * sd * days for sd in _PER_DAY])
            if hours > NEXT_DAY_H:
                self.shown = None
        self.at = until

    def _sd(self, meter: str | None) -> float:
        return self.setting.meter_sd.get(meter, self.setting.meter_sd[None])

    def _weigh(self, off: float, sd: float) -> float:
        found = likelihood(off, sd)
        self.evidence.append((self.now, math.log(found)))
        return found

    def _read(self, event: LedgerEvent) -> None:
        sd = self._sd(event.meter)
        if self.hypothesis.sort == "stuck":
            self._stands_still(event.value, sd)
            return
        ph = event.value - self.hypothesis.reads_high
        if self.state is None:
            setting = self.setting
            self.state = first_belief(setting.ledger, setting.curve, setting.habits, ph, sd, event)
            self._weigh(0.0, _FIRST_PH_SD)
            return
        self._undo_outlier(ph, sd, event.at)
        found = self._weigh(ph - self.state.mean[b.PH], math.hypot(self.state.sd(b.PH), sd))
        if found > 2.0 * OUTLIER * _ANYWHERE:
            self.state, self.passed_over = self.state.seen(b.PH, ph, sd), None
        else:
            self.passed_over = self.state, ph, event.at
            loose = self.state.replaced(b.PH, ph, max(2.0 * sd, 0.15))
            self.state = loose.loosened((0.0, 0.15, 0.3, 0.0, 0.0, 0.0, 0.0))

    def _undo_outlier(self, ph: float, sd: float, at: datetime) -> None:
        """Go back to before a reading that did not fit, where this one does: see `response`."""
        if self.passed_over is not None:
            before, read, when = self.passed_over
            if at - when <= SAME_VISIT and abs(ph - read) >= 3.0 * sd and agrees(before, ph, sd):
                self.state = before
            self.passed_over = None

    def _stands_still(self, shown: float, sd: float) -> None:
        """A meter that does not move tells nothing of the pH; only that it shows what it showed before."""
        if self.state is None:
            self.state = self.setting.supposed
            self._weigh(shown - self.state.mean[b.PH], math.hypot(_FIRST_PH_SD, self.state.sd(b.PH)))
        elif self.shown is None:
            self._weigh(shown - self.state.mean[b.PH], math.hypot(_FIRST_PH_SD, self.state.sd(b.PH)))
        else:
            self._weigh(shown - self.shown, max(_STANDS_STILL_SD, 0.7 * sd))
        self.shown = shown

    def _strip(self, shown: float) -> None:
        if self.state is not None:
            found = math.log(likelihood(shown - self.state.mean[b.PH], math.hypot(self.state.sd(b.PH), STRIP_SD)))
            self.told.append((self.now, found))
            self.state = self.state.seen(b.PH, shown, STRIP_SD)

    def _buffer(self, event: LedgerEvent) -> None:
        """A dip in buffer: `share` holds what it must show. Meters that read high pass it, that is what they are."""
        if self.hypothesis.sort == "stuck":
            expected = event.share if self.shown is None else self.shown
        else:
            expected = event.share
        self._weigh(event.value - expected, BUFFER_SD)

    def _moved(self, event: LedgerEvent, state: Gaussian) -> None:
        """A dose, water or a jar test."""
        if event.what != "jar":
            self.passed_over = self.before_jar = None
        curve, told = self.setting.curve, event.item == self.setting.item
        if event.what == "dose":
            times = (self.hypothesis.strength if told else 1.0) / self.hypothesis.circulating
            self.state = b.stirred(state, b.dosed(state, curve, event.parcel.times(times), POINTS))
        elif event.what == "water":
            water = _softer(event.parcel, self.hypothesis.of_water)
            self.state = b.stirred(state, b.diluted(state, curve, event.share, water, event.doubt, POINTS))
        elif event.what == "jar" and told:
            self._jar(event, state)

    def _jar(self, event: LedgerEvent, state: Gaussian) -> None:
        sd = self._sd(event.meter)
        if self.hypothesis.sort == "stuck":
            if self.shown is not None:
                self._weigh(event.value - self.shown, max(_STANDS_STILL_SD, 0.7 * sd))
            return
        parcel: Parcel = event.parcel.times(self.hypothesis.strength)
        ph = within_curve(event.value - self.hypothesis.reads_high)
        curve = self.setting.curve
        if event.of_water:
            state, curve = _water(event, self.hypothesis.of_water)
        learned, expected, spread = after_jar(state, curve, parcel, ph, sd, POINTS)
        if self.before_jar is not None and not event.of_water:
            again = after_jar(self.before_jar, curve, parcel, ph, sd, POINTS)
            if likelihood(ph - again[1], again[2]) > likelihood(ph - expected, spread):
                learned, expected, spread = again
            self.before_jar = None
        self.jar_was_odd = self._weigh(ph - expected, spread) <= 2.0 * OUTLIER * _ANYWHERE
        if event.of_water:
            return
        if not self.jar_was_odd:
            self.state = learned
        elif self.hypothesis.sort == "meter" or (self.hypothesis.sort == "sound" and overshot(parcel, ph, expected)):
            self.before_jar = state
            self.state = after_jar(state.loosened(LESS_BUFFERED), curve, parcel, ph, sd, POINTS)[0]
