"""Numbers of a device that are not here: those that may still arrive, and those that a repair found to be lost."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import msgspec

from rounds.history.disk import Disk, make_folder, write_new
from rounds.text import clean_line

KNOWN_GAPS = "known-gaps"
"""A file in the folder of the device that repaired: what it found missing, and could not bring back."""
_MOST_GAPS = 1_000
"""So many are kept; nobody reads more of them one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Numbers of a device that are not here."""

    device: str
    first: int
    last: int

    @property
    def sentence(self) -> str:
        """What is missing, where it may still arrive."""
        return f"{self._which} {'has' if self.first == self.last else 'have'} not arrived."

    @property
    def known_sentence(self) -> str:
        """The same where a repair has looked for it."""
        return f"{self._which} {'is' if self.first == self.last else 'are'} missing: that was so at the last repair."

    @property
    def _which(self) -> str:
        which = f"Record {self.first}" if self.first == self.last else f"Records {self.first}-{self.last}"
        return f"{which} of {clean_line(self.device, 40)}"

    def lies_in(self, others: Iterable["Gap"]) -> bool:
        """Tell whether it is one of some gaps, or what is left of one."""
        return any(self.device == o.device and o.first <= self.first and self.last <= o.last for o in others)


def gaps_between(device: str, numbers: Iterable[int]) -> list[Gap]:
    """Find the numbers that are missing between 1 and the last one; what is no number counts as 0."""
    seen = [0, *sorted(set(numbers) - {0})]
    pairs = pairwise(seen)
    return [Gap(device=device, first=before + 1, last=each - 1) for before, each in pairs if each > before + 1]


def read_known_gaps(history: Path, disk: Disk) -> list[Gap]:
    """Give what repairs of any device found missing; nothing where that cannot be read."""
    found: list[Gap] = []
    for folder in _folders(history, disk):
        try:
            rows = msgspec.json.decode(disk.read(folder / KNOWN_GAPS), type=list[tuple[str, int, int]])
        except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
            continue
        found += [Gap(device=device, first=first, last=last) for device, first, last in rows[:_MOST_GAPS]]
    return found


def write_known_gaps(own: Path, disk: Disk, gaps: Sequence[Gap]) -> None:
    """Keep what is missing, in the folder of the device that has looked for it."""
    make_folder(disk, own)
    rows = [(gap.device, gap.first, gap.last) for gap in gaps[:_MOST_GAPS]]
    write_new(disk, own / KNOWN_GAPS, msgspec.json.encode(rows))


def _folders(history: Path, disk: Disk) -> list[Path]:
    try:
        return [Path(each.path) for each in disk.scan(history)]
    except OSError:
        return []
