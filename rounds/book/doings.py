"""What somebody did unasked, and what was said to settle a matter."""

from __future__ import annotations

from datetime import date, datetime

from rounds.book.amounts import number
from rounds.book.entry import Entry

CLOSED, LATER = "closed", "later"
HOSE = "hose"
GROWERS_VERBS = frozenset({"bought", "sold"})
"""What only a grower says: it is of the shelf and the purse. What died or was taken, a helper must be able to tell."""


class Doing(Entry, kind="doing"):
    """Something that was done, or that happened, and nobody had asked for.

    Its item is the verb in the past tense, such as `dead`, `calibrated`, `sick`; its value how many or how much, where
    there is a number. What was poured into a reservoir, or taken from it, is a `Dose`.
    """

    __slots__ = ()

    @property
    def verb(self) -> str:
        """What was done."""
        return self.item

    @property
    def product(self) -> str:
        """Id of the product, water or feed that it is about; empty where there is none."""
        return self._text("product") or ""

    @property
    def before(self) -> float | None:
        """What a probe showed before it was calibrated; None where nobody knows."""
        return number(self.record.data.get("before"))

    @property
    def until(self) -> date | None:
        """The last day of a waiting time, as somebody entered it."""
        return _day(self._text("until"))

    @property
    def was_off(self) -> float | None:
        """By how much it read too high before it was calibrated; None where it was near enough, or nobody knows."""
        return number(self.record.data.get("was_off"))

    @property
    def off_since(self) -> datetime | None:
        """When it was last known to be right; None where nobody knows."""
        try:
            return datetime.fromisoformat(self._text("off_since") or "")
        except ValueError:
            return None

    @property
    def runs(self) -> bool:
        """Whether a hose was turned on; else it was turned off."""
        return self.record.data.get("running") is True

    @property
    def is_left(self) -> bool:
        """Whether something was left in a passing state by it: a hose running, a drain open."""
        return self.runs or self.record.data.get("left") is True

    @property
    def is_undone(self) -> bool:
        """Whether a passing state was ended by it: the hose off, the drain shut."""
        return self.record.data.get("running") is False or self.record.data.get("left") is False

    @property
    def gear(self) -> str:
        """What gear was swapped; empty for a bottle."""
        return self._text("gear") or ""

    @property
    def crop(self) -> str:
        """What was planted; empty where nobody said."""
        return self._text("crop") or ""

    @property
    def regrows(self) -> bool:
        """Whether what was cut grows again, so that its sites stay taken."""
        return self.record.data.get("regrows") is True

    @property
    def filed_count(self) -> int | None:
        """How many birds or plants the farm's files named when it was written down; None where it does not say."""
        found = self.record.data.get("filed")
        return found if isinstance(found, int) and not isinstance(found, bool) else None

    @property
    def filed_flag(self) -> bool | None:
        """Whether the farm's files called the station sick then; None where it does not say."""
        found = self.record.data.get("filed")
        return found if isinstance(found, bool) else None


class Settled(Entry, kind="settled"):
    """What closes a matter that was still to sort, or leaves it for a later day. Its item is the matter's id."""

    __slots__ = ()

    @property
    def is_closed(self) -> bool:
        """Whether it is done with; else it is left until `until`."""
        return self.value == CLOSED

    @property
    def about(self) -> str:
        """What was to sort, in the words it was told with then."""
        return self._text("about") or ""

    @property
    def until(self) -> date | None:
        """The day on which a matter that was left for later is back."""
        return _day(self._text("until"))


def _day(text: str | None) -> date | None:
    try:
        return datetime.fromisoformat(text).date() if text else None
    except ValueError:
        return None
