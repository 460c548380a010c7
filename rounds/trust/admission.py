"""Who may bring what in: a grower's key may say anything; everybody else may add, and put right what is their own."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, tzinfo
from hashlib import sha256

from rounds.history.admission import Passing, RefusedRecord
from rounds.history.beside import Beside
from rounds.history.farm_id import FarmId
from rounds.history.record import Record, month_of
from rounds.history.store import History
from rounds.record_kinds import KINDS
from rounds.text import clean_line
from rounds.trust.blocks import Coverage, newest_alone
from rounds.trust.keys import KeyPair, code_of
from rounds.trust.standing import Standing
from rounds.trust.statements import Block, Granted, Taken, clean_name, read, signed, written

GRACE = timedelta(hours=24)
"""After the end of the last day: a round past midnight, and the day on which the grower comes home."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounds:
    """What the rules go by, besides the keys."""

    growers: Collection[str] = ()
    """Ids and names of the people who are growers, case folded."""
    zone: tzinfo = UTC
    take: Collection[str] = ()
    """Ids of records, or names of devices whose records, the grower takes in one by one whatever the rules say."""
    by: KeyPair | None = None
    """The key with which it is said that they were taken in, so that the grower's other laptops take them too."""
    at: datetime = datetime.min
    bundled: bool = False
    """Whether it comes as a bundle: then it is a helper's, signed or not."""
    same: bool = False
    """Whether the grower says that it is the same farm, whatever its id."""


class Admitted:
    """The rules at the door for one piece that comes in: the `Admission` that a merge asks."""

    def __init__(self, history: History, standing: Standing, theirs: Beside, grounds: Grounds) -> None:
        self._history = history
        self._standing = standing
        self._grounds = grounds
        self._is_empty = not history.library.heads
        said = read(theirs.statements)
        ids = frozenset(each.id for each in said if isinstance(each, FarmId))
        adopted = ids - standing.farm_ids if grounds.same or not standing.farm_ids else frozenset()
        self._new_ids = [FarmId(id) for id in sorted(adopted)]
        standing.farm_ids |= adopted
        self._of_keys = standing.take_in(said)
        self._coverage = Coverage((each for each in said if isinstance(each, Block)), standing.farm_ids)
        self._find: Callable[[str], Record | None] = history.get
        self._admitted: dict[str, Record] = {}
        self._put_right: set[str] = set()
        """What the grower replaces with something that comes in beside it."""
        self._signer: dict[str, str] = {}
        """The key that stands for a record, where it is not the grower's."""
        self._told_of = frozenset(id for id, _ in standing.taken)
        self._digests: dict[str, str] = {}
        self._growers_devices: dict[str, bool] = {}
        self._named: dict[str, int] = {}
        self._unknown_keys: dict[str, int] = {}

    def see(self, record: Passing, body: bytes) -> None:
        """Look at a line on its way in."""
        self._coverage.see(record, body)
        if record.id in self._told_of or self._is_asked_for(record):
            self._digests[record.id] = sha256(body).hexdigest()

    def seen_all(self, find: Callable[[str], Record | None]) -> None:
        """Hold the last month against its signature."""
        self._coverage.settle()
        self._find = find

    def is_vouched(self, record: Record) -> bool:
        """Tell whether a key of the grower's stands for a record, or says that it was taken in."""
        key = self._coverage.signer_of(record)
        taken = record.id in self._told_of and (record.id, self._digests[record.id]) in self._standing.taken
        vouched = taken or (bool(key) and self._standing.rank(key) == "grower")
        if key and not vouched:
            self._signer[record.id] = key
        if record.replaces and vouched:
            self._put_right.add(record.replaces)
        return vouched

    @property
    def statements(self) -> tuple[bytes, ...]:
        """What is taken in beside the records: the farm's id where it had none, growers' word on keys, and blocks."""
        blocks = newest_alone(self._coverage.holding)
        return tuple(written(each) for each in (*self._new_ids, *self._of_keys, *blocks, *self._taken()))

    def _taken(self) -> Iterator[Taken]:
        """Say of each record that the grower asked for that it was taken in."""
        pair, farms = self._grounds.by, self._standing.farm_ids
        if pair is None or not farms:
            return
        for record in self._admitted.values():
            if self._is_asked_for(record):
                digest, at = self._digests[record.id], self._grounds.at
                yield signed(Taken(farm=min(farms), record=record.id, digest=digest, by=pair.public, at=at), pair)

    def _is_asked_for(self, record: Passing) -> bool:
        return record.id in self._grounds.take or record.device in self._grounds.take

    @property
    def sentences(self) -> tuple[str, ...]:
        """What the grower should know of who wrote what comes in."""
        told = [
            f"{count} records are signed with a key that is not introduced here, {code_of(key)}. If it is yours: "
            f"rounds keys FARM --introduce {code_of(key)}"
            for key, count in self._unknown_keys.items()
        ]
        told += [
            f"Unsigned, and in the name of {clean_name(who)}: {count} of the new ones."
            for who, count in self._named.items()
        ]
        return tuple(told)

    def why_not(self, record: Record) -> RefusedRecord | None:
        """Say why a record does not come in for which no key of the grower's stands."""
        why = "" if self._is_empty or self._is_asked_for(record) else self._as_signed(record)
        if not why:
            self._admitted[record.id] = record
            if self._is_growers(record) and record.id not in self._signer:
                self._named[record.person] = self._named.get(record.person, 0) + 1
            return None
        what = told(record, self._grounds.zone)
        return RefusedRecord(id=record.id, sentence=f"{why}.", device=record.device, what=what, may_be_taken=True)

    def _as_signed(self, record: Record) -> str:
        key = self._signer.get(record.id, "")
        rank = self._standing.rank(key) if key else "unknown"
        if rank == "revoked":
            return f"It is signed with the key {code_of(key)}, which was revoked"
        if not key and self._coverage.is_altered(record):
            return "It, or a line beside it, is not as it was signed"
        signers = self._standing.keys_of(record.device)
        if signers and key not in signers:
            return "The device that it names signs what it writes when a round is closed or a backup made, but not this"
        if record.replaces and (why := self._replacing(record, key)):
            return why
        if (known := KINDS.get(record.kind)) is not None and known.growers:
            return "It is of a kind that only the grower writes"
        return self._of_a_helper(record, key) if rank == "helper" else self._of_nobody(record, key)

    def _of_a_helper(self, record: Record, key: str) -> str:
        grant = self._standing.granted[key]
        if record.person not in ("", grant.person):
            who, whose = clean_name(record.person), clean_name(grant.person)
            return f"It names {who}, but comes under the key that was made for {whose}"
        first, end = days_of(grant, self._grounds.zone)
        if not first <= record.measured_at < end:
            return (
                f"It is outside the days of its key, {grant.first.isoformat()} to {grant.last.isoformat()}, made for "
                f"{clean_name(grant.person)}"
            )
        return "It names a device with which the grower wrote" if self._is_growers_device(record.device) else ""

    def _of_nobody(self, record: Record, key: str) -> str:
        """Rules for what nobody known has signed: it may add; and name the grower where it is older than his keys."""
        since = self._standing.signs_since
        if key:
            self._unknown_keys[key] = self._unknown_keys.get(key, 0) + 1
        if not self._is_growers(record):
            return ""
        old = since is None or max(record.entered_at, record.measured_at) <= since
        if self._grounds.bundled or not old:
            how = f"signed with a key that is not introduced here ({code_of(key)})" if key else "not signed"
            return f"It names {clean_name(record.person)}, but is {how}"
        return ""

    def _is_growers(self, record: Record) -> bool:
        return record.person.strip().casefold() in self._grounds.growers

    def _is_growers_device(self, device: str) -> bool:
        """Tell whether a grower has written here with a device; each is looked at once."""
        if device not in self._growers_devices:
            library = self._history.library
            own = (key for key in library.months() if key[0] == device)
            found = any(self._is_growers(each) for key in own for each in library.month(key).values())
            self._growers_devices[device] = found
        return self._growers_devices[device]

    def _replacing(self, record: Record, key: str) -> str:
        """Say why a record may not replace what it does: it must be their own, and so must all that replaced that."""
        old = record.replaces or ""
        family = dict.fromkeys((old, *self._history.library.replacements.family(old)))
        if not self._put_right.isdisjoint(family):
            return "It replaces or takes back what the grower has put right since"
        for id in family:
            found = self._admitted.get(id)
            if found is not None:
                own = self._signer.get(found.id, "") == key and (key != "" or found.device == record.device)
            else:
                found = self._find(id)
                own = found is not None and self._is_theirs(found, record, key)
            if found is None and id == old:
                return "It replaces or takes back a record that is not here"
            if found is not None and not own:
                what = "takes back" if record.void else "replaces"
                by = f" by {clean_name(found.person)}" if found.person else ""
                return f"It {what} what is not theirs: {told(found, self._grounds.zone)}{by}"
        return ""

    def _is_theirs(self, found: Record, record: Record, key: str) -> bool:
        """Tell whether what is here was written by whoever wrote what comes in."""
        signer = self._standing.signer_of(found.device, month_of(found.measured_at), found.seq)
        if key and self._standing.rank(key) == "helper":
            return signer == key
        return found.device == record.device and signer in ("", key) and not self._is_growers(found)


def days_of(grant: Granted, zone: tzinfo) -> tuple[datetime, datetime]:
    """From when to before when a helper's key is good: from the handing over, to some hours after the last day."""
    begin = datetime.combine(grant.first, time(), zone)
    return min(begin, grant.at), datetime.combine(grant.last + timedelta(days=1), time(), zone) + GRACE


def told(record: Record, zone: tzinfo) -> str:
    """What a record says, of which station, when, in a line."""
    what = " ".join(filter(None, (record.kind, record.item, _value(record), record.unit or "")))
    where = f" of {record.station}" if record.station else ""
    return clean_line(f"{what}{where}, {record.measured_at.astimezone(zone):%Y-%m-%d %H:%M}", 160)


def _value(record: Record) -> str:
    value = record.value
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
