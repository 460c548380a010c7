"""What cannot be is not written down: asked at the gate of the record, whichever way the draft came there."""

from __future__ import annotations

from collections.abc import Sequence

from rounds.book.entries import Reading
from rounds.book.gate import entry_of_draft
from rounds.checklist.judgement import judge_reading
from rounds.checklist.load import ALIVE, Checklists
from rounds.errors import OutOfRange
from rounds.farm.farm import Farm
from rounds.farm.model import Person
from rounds.history.record import Draft
from rounds.walk.error_texts import in_words


class NothingImpossible:
    """The rule of the gate for readings: each within the physical limits of its item, where the farm has that item.

    What is only hard to believe is a matter between the grower and the page: it is asked about, then kept.
    """

    def __init__(self, farm: Farm, checklists: Checklists) -> None:
        kinds = checklists.by_kind.values()
        self._limited = {(each.kind, item.id): item for each in kinds for item in each.items if item.limits is not None}
        self._kind_of = {station.id: station.kind for station in farm.stations.values()}

    def __call__(self, drafts: Sequence[Draft], by: Person | None) -> None:
        """Refuse a reading that cannot be.

        Raises
        ------
        OutOfRange
            With what is expected.
        """
        for draft in drafts:
            entry = entry_of_draft(draft)
            if not isinstance(entry, Reading) or draft.void:
                continue
            item, value = self._limited.get((self._kind_of.get(entry.station, ALIVE), entry.item)), entry.number
            if item is None or item.limits is None or value is None or item.limits[0] <= value <= item.limits[1]:
                continue
            raise in_words(OutOfRange, "impossible", item=item.label, why=judge_reading(value, item, None, None).text)
