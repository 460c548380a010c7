"""What the walk itself can tell, each in a provider of its own; most is imported only when it is asked."""

from __future__ import annotations

from collections.abc import Iterator

from rounds.walk.carried import carried_over
from rounds.walk.matters import Ahead, Figure, Matter, Told, register
from rounds.walk.missing import missing_lines
from rounds.walk.round import left_open
from rounds.walk.safekeeping import concerns
from rounds.walk.session import Session
from rounds.walk.wording import round_of_day

MOST_MISTAKES = 2


def half_poured_pairs(session: Session) -> Iterator[Matter]:
    """A or B that went in alone: months are read for it."""
    from rounds.walk.half_pairs import half_pairs, pair_text

    for pair in half_pairs(session):
        text = pair_text(session, pair)
        facts = {
            "station": pair.reservoir_id,
            "product": pair.product,
            "part": pair.missing,
            "amount": pair.owed.amount,
            "unit": pair.owed.unit,
            "since": pair.at.isoformat(),
            "what": f"{text}.",
        }
        yield Matter(
            code="half-pair", text=text, severity="alarm", station_id=pair.reservoir_id, leads="enter", facts=facts
        )


def newer_records(session: Session) -> Iterator[Matter]:
    """Reservoirs at which nothing is poured, since a record of a newer version may have changed them."""
    from rounds.walk.newer_records import newer_lines

    for text in newer_lines(session):
        yield Matter(code="newer-record", text=text, severity="alarm")


def missing_parts(session: Session) -> Iterator[Matter]:
    """What of the farm its files keep from being walked."""
    for line in missing_lines(session):
        yield Matter(code="missing", text=line, severity="warning")


def still_to_sort(session: Session) -> Iterator[Matter]:
    """What went wrong, or was not ended, and is not settled: the worst first."""
    from rounds.walk.to_sort.telling import told

    yield from told(session)


def things_carried_over(session: Session) -> Iterator[Matter]:
    """What an earlier round left open, as programs were always told."""
    for each in carried_over(session):
        place = _name(session, each.station_id) or session.farm.name
        facts = {"station": each.station_id, "what": each.what, "since": each.since.isoformat()}
        yield Matter(
            code="carried-over",
            text=f"{place}: {each.what}",
            severity="carried",
            station_id=each.station_id,
            brief=f"{place}: {each.brief}" if each.brief else "",
            facts=facts,
        )


def rounds_left_open(session: Session) -> Iterator[Matter]:
    """Rounds of an earlier day that nobody closed."""
    for walk in left_open(session):
        text = f"{round_of_day(walk.name, walk.day)} was left open"
        facts = {"round": walk.name, "day": walk.day.isoformat()}
        yield Matter(code="round-left-open", text=text, severity="carried", leads="c", facts=facts)


def slow_changes(session: Session) -> Iterator[Matter]:
    """What changes slowly and nobody has seen yet: worked out from months of readings."""
    from rounds.walk.slow_change.notices import farm_lines

    for line in farm_lines(session):
        yield Matter(code="slow-change", text=line, leads="t")


def mistakes_in_files(session: Session) -> Iterator[Matter]:
    """The first mistakes in the farm's files, and how many more there are."""
    mistakes = session.mistakes
    for each in mistakes[:MOST_MISTAKES]:
        yield Matter(code="mistake", text=str(each), severity="warning")
    more = len(mistakes) - MOST_MISTAKES
    if more > 0:
        text = f"and {more} more mistakes in the farm's files: `rounds check` lists them all"
        yield Matter(code="mistakes", text=text, severity="warning")


def odd_records(session: Session) -> Iterator[Matter]:
    """What of the record is passed over, and what was recovered."""
    for text in (*session.history.warnings, *session.history.recovered):
        yield Matter(code="record", text=text, severity="warning")


def safekeeping(session: Session) -> Iterator[Matter]:
    """A clock that is not to be believed, and a backup that is due."""
    for text in concerns(session):
        yield Matter(code="safekeeping", text=text, severity="warning")


def who_walks(session: Session) -> Iterator[Matter]:
    """Who walks, and what a helper may pour."""
    from rounds.walk.walker import walking_line

    yield Matter(code="walker", text=walking_line(session))


def stock(session: Session) -> Iterator[Told]:
    """What is left of each product, those that want attention first."""
    from rounds.walk.stock import shelf_lines

    for line in shelf_lines(session):
        product = line.product
        yield Figure(code=f"stock.{product.id}", label=product.name, value=line.amount, unit=product.unit)
        if line.concern:
            yield Matter(code="stock", text=f"{product.name}: {line.concern}", severity="warning", leads="s")


def mixing(session: Session) -> Iterator[Ahead]:
    """What mixes, and until when."""
    from rounds.walk.rechecks import waits

    for wait in waits(session):
        yield Ahead(code="mixing", text=wait.what, station_id=wait.station_id, due_at=wait.until)


def hoses(session: Session) -> Iterator[Ahead]:
    """Which hose runs, and until when; nothing is read where no doing was ever written down."""
    if not any(mark == "kind:doing" for _, mark in session.history.latest_marks()):
        return
    from rounds.walk.doings.hose_clock import rings

    yield from rings(session)


def notes_ahead(session: Session) -> Iterator[Ahead]:
    """Notes that name a day which has not come yet."""
    from rounds.walk.to_sort.noted import notes_to_come

    yield from notes_to_come(session)


def _name(session: Session, station_id: str) -> str:
    station = session.farm.stations.get(station_id)
    return station.name if station else station_id


register("first", half_poured_pairs)
register("first", newer_records)
register("missing", missing_parts)
register("to sort", still_to_sort)
register("carried", things_carried_over)
register("left open", rounds_left_open)
register("slow", slow_changes)
register("files", mistakes_in_files)
register("files", odd_records)
register("files", safekeeping)
register("walker", who_walks)
register("shelf", stock)
register("ahead", mixing)
register("ahead", hoses)
register("ahead", notes_ahead)
