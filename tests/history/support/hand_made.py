"""What several tests of this room make by hand."""

from datetime import UTC

import msgspec
from history_tools import NOON

from rounds.history import paper_log
from rounds.history.journal import opened as open_line
from rounds.history.journal import sealed
from rounds.history.record import Record


def line(number, size=0):
    return sealed(b'{"id":"%d","x":"%s"}' % (number, b"x" * size))


def body(number, size=0):
    return open_line(line(number, size)[:-1])


def flipped(data, place, bit=0):
    found = bytearray(data)
    found[place] ^= 1 << bit
    return bytes(found)


RECORD = Record(
    id="1", format=1, device="bench", seq=1, lamport=2, kind="reading", measured_at=NOON, entered_at=NOON, value=6.4
)


PAPER = paper_log.Mapping(
    time=("Day",), time_format="%d.%m.%Y", zone=UTC, person_heading="Who", note_heading="Remark",
    columns=(paper_log.Column(heading="pH", station="north", item="ph"),
             paper_log.Column(heading="Hens", station="hens", item="mood", kind="check", is_text=True)),
)  # fmt: skip


def record_line(number, **changes):
    fields = {"id": f"019e7de7-be00-7000-8000-{number:012d}", "device": "stick", "seq": number, "lamport": number}
    return sealed(msgspec.json.encode(msgspec.structs.replace(RECORD, **fields, **changes)))


def month_of_another(root, *lines, name="stick", month="2026-05"):
    path = root / "history" / name / month[:4] / f"{month}.jsonl"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"".join(lines))
    return path
