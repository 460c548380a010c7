"""What a helper may write down: asked at the gate of the record, whichever way the draft came there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo

from rounds.book.actions import FED
from rounds.book.day import REST, limits_since, morning_rounds
from rounds.book.doings import GROWERS_VERBS
from rounds.book.entries import Doing, Dose, Settled, Unknown, entries_of, only
from rounds.book.entry import Entry, RecordLike
from rounds.book.gate import entry_of_draft
from rounds.book.message import Message, say
from rounds.book.undone import BEYOND as BEYOND  # a dose beyond is never written down without, and never kept back
from rounds.errors import Refused
from rounds.farm.farm import Farm
from rounds.farm.model import Person
from rounds.farm.shelf import Acid, Base, Concentrate
from rounds.history.record import Draft
from rounds.history.store import History
from rounds.record_kinds import KINDS
from rounds.walk.error_texts import beyond_the_limit, in_words

GROWERS_MATTERS = frozenset({"beyond", "begun", "deaths"})
"""What is still to sort and only a grower settles, by the beginning of its id."""
ML_POURED = FED | {"acid", "base"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Permission:
    """The rule of the gate for helpers; growers may write everything."""

    farm: Farm
    history: History
    zone: tzinfo

    def __call__(self, drafts: Sequence[Draft], by: Person | None) -> None:
        """Refuse what is not a helper's.

        Raises
        ------
        Refused
            Where it is the grower's to write, or a dose beyond the limits that nobody has said was poured already.
        """
        if by is None or by.role != "helper":
            return
        poured: list[Dose] = []
        for draft in drafts:
            entry = entry_of_draft(draft)
            _refuse_the_growers(draft, entry)
            self._refuse_what_others_wrote(draft, by)
            if isinstance(entry, Dose) and not any(mark.startswith(BEYOND) for mark in draft.marks):
                why = self.beyond(by.id, entry.item, entry.number or 0.0, entry.unit or entry.usual_unit,
                                  entry.measured_at, beside=poured)  # fmt: skip
                if why is not None:
                    raise beyond_the_limit(why)
            poured += [entry] if isinstance(entry, Dose) else []

    def _refuse_what_others_wrote(self, draft: Draft, by: Person) -> None:
        """A helper replaces, or takes back, no entry but their own."""
        old = self.history.get(draft.replaces) if draft.replaces else None
        if old is not None and old.person not in ("", by.id):
            raise in_words(Refused, "not-yours", person=old.person)

    def beyond(
        self, person: str, product_id: str, amount: float, unit: str, at: datetime, *, beside: Iterable[Dose] = ()
    ) -> Message | None:
        """Why an amount is more than a helper may pour at a moment; None where it is not.

        Parameters
        ----------
        beside : iterable of Dose
            What is written down with it, and not on record yet.
        """
        product = self.farm.shelf.get(product_id)
        if not isinstance(product, Acid | Base | Concentrate) or amount <= 0.0:
            return None
        limits, ml = self.farm.limits.helper, amount * (1000.0 if unit == "L" else 1.0)
        if product_id not in limits.products:
            return say("helper-product", product=product.name)
        if ml > limits.step_ml:
            return say("helper-step", ml=ml, most=limits.step_ml)
        day = self.poured_ml(person, at) + sum(dose.ml for dose in beside if dose.action in ML_POURED) + ml
        return say("helper-day", ml=day, most=limits.day_ml) if day > limits.day_ml else None

    def poured_ml(self, person: str, at: datetime) -> float:
        """What a helper has poured on the day of a moment. [mL]"""
        return poured_today_ml(self.history.records(since=limits_since(at, self.zone)), person, at, self.zone)


def poured_today_ml(records: Iterable[RecordLike | Entry], person: str, now: datetime, zone: tzinfo) -> float:
    """What a person has poured today, in mL of everything from the shelf. [mL]

    What was poured later that day counts, too: a sheet is typed in afterwards, and a clock may be ahead.

    Parameters
    ----------
    records : iterable of record
        Effective ones, at least since `rounds.book.day.limits_since`, with those of the rounds.
    zone : tzinfo
        The farm's own.
    """
    entries = entries_of(records)
    since, until = limits_since(now, zone, morning_rounds(entries)), now.astimezone(UTC) + REST
    return sum(
        dose.ml
        for dose in only(Dose, entries)
        if dose.action in ML_POURED and dose.person == person and since <= dose.measured_at < until
    )


def _refuse_the_growers(draft: Draft, entry: Entry) -> None:
    known = KINDS.get(entry.kind)
    if known is not None and known.growers:
        raise in_words(Refused, "growers-record")
    if isinstance(entry, Doing) and entry.verb in GROWERS_VERBS:
        raise in_words(Refused, "growers-doing", verb=entry.verb)
    if isinstance(entry, Settled) and entry.item.partition(":")[0] in GROWERS_MATTERS:
        raise in_words(Refused, "growers-matter")
    if isinstance(entry, Unknown) and draft.void:
        raise in_words(Refused, "growers-newer")
    if isinstance(entry, Dose) and (draft.void or draft.replaces):
        raise in_words(Refused, "growers-dose")
