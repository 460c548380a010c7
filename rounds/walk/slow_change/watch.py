"""Looking over the farm for what changes slowly, and writing down that it was looked at or put right."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from rounds.history.record import Draft, Record
from rounds.walk.session import Session
from rounds.walk.slow_change.finding import SlowChange, finding_of
from rounds.walk.slow_change.gather import MARK, SEEN, all_series
from rounds.walk.slow_change.series import Series

SEEN_HOLDS = timedelta(days=14)
"""What was looked at and left is not told on the first screen again for so long."""


@dataclass(frozen=True, kw_only=True)
class Watch:
    """All series that were looked over, and what was found, the most pressing first."""

    series: tuple[Series, ...]
    findings: tuple[SlowChange, ...]

    def finding(self, series: Series) -> SlowChange | None:
        """What was found in a series."""
        return next((each for each in self.findings if each.series.key == series.key), None)

    def to_tell(self, now: datetime) -> list[SlowChange]:
        """What nobody has looked at yet, or not for a while."""
        return [each for each in self.findings if not was_seen(each, now)]


def look_over(session: Session, *, station_id: str | None = None) -> Watch:
    """Look for slow change on the whole farm, or at one station.

    Reads what the last 200 days hold, so not while the first screen waits.

    Raises
    ------
    NotFound
        Where the farm has no such station.
    """
    series = tuple(all_series(session, station_id=station_id))
    found = [finding for each in series if (finding := finding_of(each)) is not None]
    return Watch(series=series, findings=tuple(sorted(found, key=_urgency)))


def new_since(watch: Watch, moment: datetime) -> list[SlowChange]:
    """What has become a finding by the readings since a moment, and was none before."""
    return [each for each in watch.findings if finding_of(each.series.before(moment)) is None]


def was_seen(finding: SlowChange, now: datetime) -> bool:
    """Whether somebody has looked at it lately."""
    seen = finding.series.seen_at
    return seen is not None and now - seen < SEEN_HOLDS


def mark_seen(session: Session, series: Series) -> Record:
    """Write down that a slow change was looked at and left at that."""
    return session.save(_draft(session, series, None))[0]


def mark_put_right(session: Session, series: Series, what: str) -> Record:
    """Write down what was done about a slow change; from here on only new readings are compared."""
    return session.save(_draft(session, series, what))[0]


def choose(watch: Watch, item: str | None) -> Iterable[Series]:
    """The series of one item by its id or a word that is typed for it; all of them where none is named."""
    return [s for s in watch.series if item is None or item in (s.item.id, *s.item.names)]


def _draft(session: Session, series: Series, what: str | None) -> Draft:
    return Draft(
        kind=SEEN, measured_at=session.now(), station=series.station_id, item=MARK + series.item.id,
        person=session.person_name(), note=what, data={"put_right": what is not None, "figure": series.figure},
    )  # fmt: skip


def _urgency(finding: SlowChange) -> tuple[float, float]:
    """What leaves its band soonest comes first, then what has changed most for its size."""
    left = finding.days_left if finding.days_left is not None else float("inf")
    return left, -abs(finding.changed) / max(abs(finding.start), abs(finding.end))
