"""Drafts become records: an id, the next numbers of the device, the time of entry, a mark where the clock is odd."""

from collections.abc import Callable, Sequence
from datetime import datetime

import msgspec

from rounds.history.ids import IdSource
from rounds.history.library import Library
from rounds.history.record import FORMAT, Draft, Record, month_of

CLOCK_SLACK_S = 3_600
CLOCK_AHEAD_S = 400 * 86_400
Span = tuple[int, int]
EnteredSource = Callable[[Draft], datetime]


class Numbering:
    """Numbers drafts without a gap; what was not confirmed keeps its id when it is saved again."""

    def __init__(self, library: Library, ids: IdSource) -> None:
        self._library = library
        self._ids = ids
        self._unconfirmed: list[tuple[list[Draft], list[Record]]] = []

    def records(
        self, device: str, drafts: Sequence[Draft], entered: EnteredSource | None, now: datetime
    ) -> list[Record]:
        """Make records of drafts, in their order; numbered month by month, as they will be written.

        A crash between two journals then leaves the lower numbers written and no gap.
        """
        for number, (before, records) in enumerate(self._unconfirmed):
            if before == list(drafts):
                del self._unconfirmed[number]
                return self._again(device, records)
        concern = self.clock_concern(device, now) if entered is None else None
        marks = (concern[0],) if concern else ()
        last = self._library.counters.seq(device)
        span = (last + 1, last + len(drafts)) if len(drafts) > 1 else None
        return [
            self._numbered(device, draft, step, entered(draft) if entered else now, marks, span)
            for draft, step in zip(drafts, _steps(drafts), strict=True)
        ]

    def keep_unconfirmed(self, drafts: Sequence[Draft], records: Sequence[Record]) -> None:
        """Remember what may stand on the disk or not."""
        self._unconfirmed.append((list(drafts), list(records)))

    def clock_concern(self, device: str, now: datetime) -> tuple[str, str] | None:
        """Give a mark and a sentence where the clock does not fit the last record of a device."""
        last_s = self._library.counters.entered_s.get(device, 0.0)
        now_s = now.timestamp()
        if not last_s or last_s - CLOCK_SLACK_S <= now_s <= last_s + CLOCK_AHEAD_S:
            return None
        last = datetime.fromtimestamp(last_s, now.tzinfo)
        where = f"The clock says {now:%Y-%m-%d %H:%M}; the last record was written {last:%Y-%m-%d %H:%M}."
        return "clock stepped back" if now_s < last_s else "clock far ahead", where

    def _numbered(
        self, device: str, draft: Draft, step: int, entered_at: datetime, marks: tuple[str, ...], span: Span | None
    ) -> Record:
        fields = {name: getattr(draft, name) for name in Draft.__struct_fields__}
        fields["marks"] = (*draft.marks, *marks)
        return Record(
            id=self._ids(entered_at),
            format=FORMAT,
            device=device,
            seq=self._library.counters.seq(device) + step,
            lamport=self._library.counters.lamport(device) + step,
            entered_at=entered_at,
            saved_with=span,
            **fields,
        )

    def _again(self, device: str, records: Sequence[Record]) -> list[Record]:
        """Number anew what did not arrive, right behind what did, so that no number is left out."""
        there = {each.id for each in records if self._library.find(each.id) is not None}
        missing = [each for each in records if each.id not in there]
        last, lamport = self._library.counters.seq(device), self._library.counters.lamport(device)
        span = _span_of(missing, last, records)
        again = {
            each.id: msgspec.structs.replace(each, seq=last + step, lamport=lamport + step, saved_with=span)
            for each, step in zip(missing, _steps(missing), strict=True)
        }
        return [again.get(each.id, each) for each in records]


def _span_of(missing: Sequence[Record], last: int, records: Sequence[Record]) -> Span | None:
    """The first and last number of what is written again: that of the whole save, where nothing came in between."""
    before = records[0].saved_with
    if before is not None and (last + 1, last + len(missing)) == (before[1] - len(missing) + 1, before[1]):
        return before
    return (last + 1, last + len(missing)) if len(missing) > 1 else None


def _steps(several: Sequence[Draft | Record]) -> list[int]:
    """Give each its place, from 1, when months are written one after the other in the order in which they appear."""
    months: dict[str, list[int]] = {}
    for place, each in enumerate(several):
        months.setdefault(month_of(each.measured_at), []).append(place)
    steps = [0] * len(several)
    for step, place in enumerate((place for places in months.values() for place in places), 1):
        steps[place] = step
    return steps
