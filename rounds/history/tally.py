"""What a record holds, counted month by month: of each entry no more is kept than its id and its number."""

from collections import Counter, defaultdict

from rounds.history.disk import Disk
from rounds.history.door import MOST_LOOKED_AT, Line, doc_of, is_newer, let_through, line_let_through
from rounds.history.examine import examine
from rounds.history.files import MonthFiles
from rounds.history.gaps import Gap, gaps_between
from rounds.history.lines import agreed_lines
from rounds.history.month import Doc
from rounds.history.record import HIGHEST_COUNT
from rounds.text import clean_line


class Tally:
    """Counts what is in one month after the other."""

    def __init__(self) -> None:
        self.readings = 0
        self.damaged: list[str] = []
        self.odd: list[str] = []
        self._ids: set[str] = set()
        self._numbers: dict[str, list[int]] = defaultdict(list)

    @property
    def records(self) -> int:
        """How many there are."""
        return len(self._ids)

    def take(self, disk: Disk, files: MonthFiles) -> None:
        """Count a month in: line by line where its copies agree, else with whatever can be read of them."""
        lines = agreed_lines(disk, files)
        if lines is None:
            self._examine(disk, files)
        else:
            self._count_lines(files, lines)

    def gaps(self) -> list[Gap]:
        """The numbers that are missing between 1 and the last one of each device."""
        return [gap for device, numbers in sorted(self._numbers.items()) for gap in gaps_between(device, numbers)]

    def twice(self) -> list[str]:
        """What says that a number was given to several records."""
        return [
            f"Number {number} of {clean_line(device, 40)} was given {count} times."
            for device, numbers in self._numbers.items()
            if len(set(numbers)) < len(numbers)
            for number, count in Counter(numbers).items()
            if count > 1 and number
        ]

    def _count_lines(self, files: MonthFiles, lines: list[bytes]) -> None:
        sorts, told = Counter[str](), list[str]()
        for body in lines:
            line = line_let_through(body) if len(told) < MOST_LOOKED_AT else _in_brief(body)
            if line.record is not None:
                record = line.record
                self._count(record.id, record.device, record.seq, record.kind)
            elif not line.is_strange:
                self._count_doc(doc_of(body) or {})
            told += [line.odd] if line.odd else []
            sorts["newer"] += line.is_newer
            sorts["strange"] += line.is_strange
        self.odd += [*_passed_over(files, sorts["newer"], sorts["strange"]), *told]

    def _examine(self, disk: Disk, files: MonthFiles) -> None:
        content, found = examine(disk, files)
        self.damaged += found
        for doc in content.docs:
            self._count_doc(doc)
        later = [doc for doc in content.docs if is_newer(doc)]
        self.odd += _passed_over(files, len(later), len(content.strange))
        told = 0
        for doc in content.docs:
            odd = let_through(doc)[1] if told < MOST_LOOKED_AT and not is_newer(doc) else ""
            told += odd != ""
            self.odd += [odd] if odd else []

    def _count_doc(self, doc: Doc) -> None:
        self._count(str(doc.get("id")), str(doc.get("device")), _number(doc), doc.get("kind"))

    def _count(self, id: str, device: str, number: int, kind: object) -> None:
        if id not in self._ids:
            self._ids.add(id)
            self._numbers[device].append(number)
            self.readings += kind == "reading"


def _in_brief(body: bytes) -> Line:
    """Not more than whether a line holds a record: where thousands are odd, nobody made them by mistake."""
    return Line(None, is_strange=doc_of(body) is None)


def _passed_over(files: MonthFiles, newer: int, strange: int) -> list[str]:
    name = f"{files.month} of {files.device}"
    found = [f"From a newer version of this program, and passed over: {newer} of {name}."] if newer else []
    return found + ([f"Sealed lines that hold no record, and are passed over: {strange} of {name}."] if strange else [])


def _number(doc: Doc) -> int:
    """The number of a record in its device; 0 where it is none."""
    seq = doc.get("seq")
    return seq if isinstance(seq, int) and 0 < seq <= 2 * HIGHEST_COUNT else 0
