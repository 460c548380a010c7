"""`rounds change FARM`: what changes slowly, and where it leads."""

from __future__ import annotations

import argparse
from datetime import datetime
from typing import Any

from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import add_farm, open_session, print_json
from rounds.cli.json_keys import tell_keys
from rounds.errors import NotFound
from rounds.walk.session import Session
from rounds.walk.slow_change.finding import SlowChange
from rounds.walk.slow_change.plot import draw
from rounds.walk.slow_change.series import Series
from rounds.walk.slow_change.watch import Watch, choose, look_over, was_seen
from rounds.walk.slow_change.words import about, sentence

WIDTH, HEIGHT = 78, 14
_DIGITS = 6

_KEYS = """
format        1
farm          name of the farm
at            now
findings      what changes slowly
  station     empty for what is read once for the farm
  item, figure, unit
  direction   rising or falling
  from, to    values at the start and at the end
  since, until, readings
  per_week, per_week_low, per_week_high
  chance      how likely chance alone does this, 0 to 1
  goes_on     true where it still moves
  edge        of the band it moves to; null where there is none
  days_left, days_left_soonest, days_left_latest
              until the edge; null where it is far or there is none
  look_at     what to look at
  seen        true where somebody looked at it lately
  sentence
series        every reading that was looked over
  station, item, figure, label, unit
  band        lowest and highest that is well, or null
  watched     its checklist asks to watch it
  readings    how many
  compared    how many of them are compared
  [points]    with --plot
    at, value, compared
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("change", help="what changes slowly, and where it leads")
    add_farm(parser)
    parser.add_argument("--station", metavar="ID", help="only this station")
    parser.add_argument("--item", metavar="WORD", help="only this reading, by its id or the word that is typed for it")
    parser.add_argument("--plot", action="store_true", help="draw each reading chosen, whether it changes or not")
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print what changes slowly."""
    session = open_session(args, read_only=True)
    watch = look_over(session, station_id=args.station)
    chosen = list(choose(watch, args.item))
    if args.item is not None and not chosen:
        known = ", ".join(dict.fromkeys(series.item.id for series in watch.series)) or "none yet"
        raise in_words(NotFound, "nothing-read", item=args.item[:40], known=known)
    keys = {series.key for series in chosen}
    findings = [finding for finding in watch.findings if finding.series.key in keys]
    if args.json:
        print_json(_form(session, chosen, findings, points=args.plot))
    else:
        print("\n".join(_lines(session, watch, chosen, findings, plot=args.plot)))
    return 0


def _lines(
    session: Session, watch: Watch, chosen: list[Series], findings: list[SlowChange], *, plot: bool
) -> list[str]:
    lines = [about(finding.series, watch.findings, session) for finding in findings]
    watched = sum(series.is_watched for series in chosen)
    lines = lines or [f"Nothing changes slowly, as far as {watched} readings that are watched tell."]
    for series in chosen if plot else ():
        finding = watch.finding(series)
        title = f"{series.place}: {series.label}"
        lines += ["", title, *draw(series, finding, width=WIDTH, height=HEIGHT, zone=session.zone)]
    return lines


def _form(session: Session, chosen: list[Series], findings: list[SlowChange], *, points: bool) -> dict[str, Any]:
    return {
        "farm": session.farm.name,
        "at": session.now().isoformat(timespec="seconds"),
        "findings": [_finding(session, each) for each in findings],
        "series": [_series(session, each, points=points) for each in chosen],
    }


def _finding(session: Session, finding: SlowChange) -> dict[str, Any]:
    series, slope = finding.series, finding.slope
    soonest, latest = finding.days_left_range or (None, None)
    return {
        "station": series.station_id, "item": series.item.id, "figure": series.figure, "unit": series.unit,
        "direction": finding.direction, "from": _round(finding.start), "to": _round(finding.end),
        "since": _time(session, finding.since), "until": _time(session, finding.until), "readings": finding.readings,
        "per_week": _round(7.0 * slope.per_day), "per_week_low": _round(7.0 * slope.low_per_day),
        "per_week_high": _round(7.0 * slope.high_per_day), "chance": _round(finding.p), "goes_on": finding.goes_on,
        "edge": finding.edge, "days_left": _round(finding.days_left), "days_left_soonest": _round(soonest),
        "days_left_latest": _round(latest), "look_at": finding.look_at, "seen": was_seen(finding, session.now()),
        "sentence": sentence(finding, session.zone),
    }  # fmt: skip


def _series(session: Session, series: Series, *, points: bool) -> dict[str, Any]:
    compared = {point.at for point in series.compared}
    form: dict[str, Any] = {
        "station": series.station_id, "item": series.item.id, "figure": series.figure, "label": series.label,
        "unit": series.unit, "band": series.band, "watched": series.is_watched, "readings": len(series.points),
        "compared": len(compared),
    }  # fmt: skip
    if points:
        form["points"] = [
            {"at": _time(session, p.at), "value": _round(p.value), "compared": p.at in compared} for p in series.points
        ]
    return form


def _time(session: Session, moment: datetime) -> str:
    return moment.astimezone(session.zone).isoformat(timespec="seconds")


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, _DIGITS)
