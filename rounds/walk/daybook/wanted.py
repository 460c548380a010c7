"""What is looked for in the daybook: by station, kind, person, text; findings, doings, corrections."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

from rounds.book.entries import (
    Doing,
    Done,
    Dose,
    Event,
    GivenUp,
    Offer,
    Overtaken,
    PutOff,
    RecheckDone,
    Settled,
    entry_of,
)
from rounds.book.entry import TYPES, Entry
from rounds.errors import BadInput, NotFound
from rounds.history.record import Record
from rounds.record_kinds import KINDS
from rounds.text import clean_line
from rounds.walk.daybook.sentences import sentence
from rounds.walk.daybook.signs import is_finding
from rounds.walk.error_texts import in_words
from rounds.walk.session import Session

CORRECTIONS = (Offer, Dose, Done, PutOff, Overtaken, GivenUp, RecheckDone)
DOINGS = (Doing, Settled, Event)
_GROUPS = ("findings", "doings", "corrections")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which entries are looked for; all that is named must hold, and one of the groups where any is."""

    station: str | None = None
    kind: str | None = None
    person: str | None = None
    find: str = ""
    groups: frozenset[str] = frozenset()
    """Of `findings`, `doings`, `corrections`."""

    def __bool__(self) -> bool:
        return self != Wanted()

    def accepts(self, session: Session, record: Record) -> bool:
        """Whether an entry is looked for; the dearest question comes last."""
        return (
            self.station in (None, record.station)
            and (not self.kind or isinstance(entry_of(record), TYPES[self.kind]))
            and (self.person is None or record.person.casefold() == self.person.casefold())
            and (not self.groups or any(_is_of(session, group, record) for group in self.groups))
            and (not self.find or self._is_said_in(session, record))
        )

    @property
    def kinds(self) -> frozenset[str] | None:
        """The kinds among which it is looked for; None where it may be any."""
        if self.kind:
            return frozenset({self.kind})
        among = {"corrections": kinds_of(CORRECTIONS), "doings": kinds_of((*DOINGS, Dose))}
        is_narrow = bool(self.groups) and self.groups <= among.keys()
        return frozenset().union(*(among[group] for group in self.groups)) if is_narrow else None

    def told(self, session: Session) -> str:
        """What is looked for, in a few words."""
        station = session.farm.stations.get(self.station or "")
        named = [station.name if station else self.station or "", f"{self.kind}s" if self.kind else ""]
        return ", ".join(
            part
            for part in (*named, *(group for group in _GROUPS if group in self.groups),
                         f"by {self.person}" if self.person else "", f"“{self.find}”" if self.find else "")
            if part
        )  # fmt: skip

    def _is_said_in(self, session: Session, record: Record) -> bool:
        said = (
            f"{sentence(session, record, came_out=False)} {record.typed or ''} {record.item} {record.kind}".casefold()
        )
        return all(word in said for word in self.find.casefold().split())


def read_wanted(session: Session, line: str) -> Wanted:
    """What a typed line looks for: names of stations, people, kinds and groups are taken out, the rest is text.

    Examples of lines: `findings`, `reservoir one wilt`, `notes ben`, `doings`.
    """
    rest, station = _station_in(session, " ".join(line.casefold().split()))
    people = {name.casefold(): each.id for each in session.farm.people for name in (each.id, each.name)}
    groups, text, kind, person = set(), [], None, None
    for word in rest.split():
        if word in _GROUPS:
            groups.add(word)
        elif (known := _kind(word)) is not None and kind is None:
            kind = known
        elif word in people and person is None:
            person = people[word]
        else:
            text.append(word)
    return Wanted(station=station, kind=kind, person=person, find=" ".join(text), groups=frozenset(groups))


def named(session: Session, *, station: str | None, kind: str | None, person: str | None, find: str | None,
          groups: Iterable[str] = ()) -> Wanted:  # fmt: skip
    """The same from names given one by one, of which a kind must be known.

    Raises
    ------
    BadInput
        For a kind that is none, with those that are close.
    """
    known = None if kind is None else _kind(kind.casefold())
    if kind is not None and known is None:
        near = ", ".join(get_close_matches(kind.casefold(), KINDS, n=3)) or ", ".join(KINDS)
        raise in_words(BadInput, "no-such-kind", kind=clean_line(kind, 40), known=near)
    people = {name.casefold(): each.id for each in session.farm.people for name in (each.id, each.name)}
    who = None if person is None else people.get(person.casefold(), person)
    return Wanted(station=_known_station(session, station), kind=known, person=who, find=find or "",
                  groups=frozenset(groups))  # fmt: skip


def refuse_strangers(session: Session, wanted: Wanted) -> None:
    """Say that a station or a person is none, where nothing was found by that name either.

    Raises
    ------
    NotFound
        With the names that are close.
    """
    if wanted.station is not None and wanted.station not in session.farm.stations:
        names = {name.casefold(): each.id for each in session.farm.stations.values() for name in (each.id, each.name)}
        near = dict.fromkeys(names[name] for name in get_close_matches(wanted.station.casefold(), names, n=3))
        if near:
            known = ", ".join(near)
            raise in_words(NotFound, "no-station-found", station=clean_line(wanted.station, 40), known=known)
        session.farm.station(wanted.station)
    people = [each.id for each in session.farm.people]
    if wanted.person is not None and wanted.person not in people:
        known = ", ".join(people) or "nobody yet"
        raise in_words(NotFound, "no-person", person=clean_line(wanted.person, 40), known=known)


def _known_station(session: Session, name: str | None) -> str | None:
    found = [each.id for each in session.farm.stations.values() if name and each.name.casefold() == name.casefold()]
    return found[0] if len(found) == 1 and name not in session.farm.stations else name


def _station_in(session: Session, line: str) -> tuple[str, str | None]:
    """A line without the station that is named in it, by its longest name, and that station."""
    stations = session.farm.stations.values()
    names = sorted(((name.casefold(), each.id) for each in stations for name in (each.name, each.id)),
                   key=lambda pair: -len(pair[0]))  # fmt: skip
    for name, station in names:
        if f" {name} " in f" {line} ":
            return f" {line} ".replace(f" {name} ", " ", 1).strip(), station
    return line, None


def _kind(word: str) -> str | None:
    """A kind of record by its name, also in the plural; `doings` and `corrections` are groups."""
    return next((kind for kind in KINDS if word in (kind, f"{kind}s")), None)


def kinds_of(types: Iterable[type[Entry]]) -> frozenset[str]:
    """The names of some kinds of entry."""
    return frozenset(each.kind for each in types)


def _is_of(session: Session, group: str, record: Record) -> bool:
    entry = entry_of(record)
    if group == "corrections":
        return isinstance(entry, CORRECTIONS) and not _is_own(entry)
    if group == "doings":
        return isinstance(entry, DOINGS) or _is_own(entry)
    return isinstance(entry, GivenUp | PutOff) or is_finding(session, record)


def _is_own(entry: Entry) -> bool:
    """Whether something was poured unasked."""
    return isinstance(entry, Dose) and entry.is_own
