"""What is said of records that are passed over: a line or two, however many there are."""

from collections import Counter
from collections.abc import Iterable
from datetime import date

from rounds.history.summary import MonthHead

MOST_DEVICES = 2
"""More of them are told in one line."""


def passed_over(heads: Iterable[MonthHead], own: str) -> list[str]:
    """Say how many records of each device are passed over, in whole or in part; `check` names them.

    Parameters
    ----------
    heads : iterable of MonthHead
        What is known of each month.
    own : str
        The device that writes here: what a newer version wrote under its name is told elsewhere.
    """
    odd, later = Counter[str](), Counter[str]()
    since: dict[str, str] = {}
    for head in tuple(heads):
        odd[head.device] += head.odd
        later[head.device] += head.newer if head.device != own else 0
        if head.odd:
            since[head.device] = min(head.month, since.get(head.device, head.month))
    first = f"not readable since {_in_words(min(since.values()))}" if since else ""
    told = [f"{each} odd and passed over, {first}: `rounds check FARM` names what is odd." for each in _counted(+odd)]
    update = "from a newer version of this program and passed over: bring this laptop up to date."
    return told + [f"{each} {update}" for each in _counted(+later)]


def _in_words(month: str) -> str:
    """A month as it is told.

    Examples
    --------
    >>> _in_words("2026-05")
    'May 2026'
    """
    return f"{date(2000, int(month[5:]), 1):%B} {month[:4]}"


def _counted(numbers: Counter[str]) -> list[str]:
    """The beginning of a sentence for each device, or one for all where they are many."""
    if len(numbers) > MOST_DEVICES:
        return [f"{numbers.total()} records of {len(numbers)} devices are"]
    return [
        f"{number} record{'s' if number > 1 else ''} of device {device} {'are' if number > 1 else 'is'}"
        for device, number in numbers.items()
    ]
