"""How far each device has counted, and when it last wrote."""

from collections.abc import Collection
from datetime import UTC, datetime

from rounds.history.record import Record
from rounds.history.summary import MonthHead

_EARLIEST = datetime(1970, 1, 1, tzinfo=UTC)
LARGEST_JUMP = 2**24
"""More records than any sender has written unseen: at 30 a day they take 1,500 years. A counter that is further ahead
of all that is known was never counted up to."""


class Counters:
    """The highest of all months, device by device."""

    def __init__(self) -> None:
        self.seqs: dict[str, int] = {}
        self.entered_s: dict[str, float] = {}
        self.lamports: dict[str, int] = {}

    def count(self, head: MonthHead, records: Collection[Record]) -> None:
        """Count records of a month in, and the month as a whole."""
        last = max((record.entered_at for record in records), default=_EARLIEST)
        head.entered_s = max(head.entered_s, last.timestamp())
        for record in records:
            if record.device == head.device:
                head.seq = max(head.seq, record.seq)
            head.lamport = max(head.lamport, record.lamport)
        self.lamports[head.device] = max(self.lamports.get(head.device, 0), head.lamport)
        self.seqs[head.device] = max(self.seqs.get(head.device, 0), head.seq)
        self.entered_s[head.device] = max(self.entered_s.get(head.device, 0.0), head.entered_s)

    def seq(self, device: str) -> int:
        """Give the last number of a device."""
        return self.seqs.get(device, 0)

    def lamport(self, device: str) -> int:
        """Give the highest counter that a device counts on from: one of another that nobody counted up to is none."""
        reached = self.lamports.get(device, 0)
        for count in sorted(count for name, count in self.lamports.items() if name != device):
            if count > reached + LARGEST_JUMP:
                break
            reached = max(reached, count)
        return reached

    @property
    def highest(self) -> int:
        """The highest counter of all."""
        return max(self.lamports.values(), default=0)
