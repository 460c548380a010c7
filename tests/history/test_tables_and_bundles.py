"""What goes out as a table and comes in from paper, a zip or another history, field by field."""

import os
import zipfile
from datetime import UTC, datetime, timedelta, timezone

import msgspec
import pytest
from hand_made import PAPER, RECORD
from history_tools import NOON, opened, reading

from rounds.errors import BadInput, NotFound
from rounds.history import merge, paper_log
from rounds.history.disk import Disk
from rounds.history.export import COLUMNS, safe_cell, to_csv
from rounds.history.incoming import read_zip
from rounds.history.journal import opened as open_line
from rounds.history.journal import sealed
from rounds.history.month import write_table
from rounds.history.record import Record
from rounds.history.strict import SizeLimits


def test_a_row_holds_every_field_in_its_column():
    record = Record(
        id="i", format=1, device="bench", seq=7, lamport=9, kind="reading", station="north", item="ph",
        measured_at=datetime(2026, 5, 31, 14, 0, 0, 900_000, tzinfo=timezone(timedelta(hours=2))),
        entered_at=NOON, person="Kim", meter="pen", typed="6,4", value=6.4, unit="mS/cm", note="n", round_id="r",
        replaces="p", void=True, marks=("one", "two"),
    )  # fmt: skip
    assert to_csv([record]).split("\r\n") == [
        ",".join(COLUMNS),
        '2026-05-31T14:00:00+02:00,north,ph,reading,6.4,mS/cm,"6,4",pen,Kim,n,one; two,2026-05-31T12:00:00+00:00,'
        "r,p,yes,i,bench,7,",
        "",
    ]
    assert to_csv([record], ",", header=False).count("\r\n") == 1
    assert ";6,4;mS/cm;" in to_csv([record], ",") and ";no;" not in to_csv([record], ",")
    assert to_csv([]) == ",".join(COLUMNS) + "\r\n"


@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])
def test_a_cell_that_a_spreadsheet_would_run_gets_an_apostrophe(first):
    assert safe_cell(f"{first}1").startswith("'")
    assert safe_cell(f"a{first}1")[0] == "a"


def test_a_row_of_paper_becomes_whole_drafts(tmp_path):
    with opened(tmp_path / "history") as history:
        missing = "04.05.2026,–,n/a,Kim,\n05.05.2026,?,-,,\n"
        text = f"\ufeffDay,pH,Hens,Who,Remark\n03.05.2026, 6.1 ,calm, Kim ,windy\n,,,,\n{missing}"
        found = paper_log.preview(history, text, PAPER)
    first = reading(6.1, measured_at=datetime(2026, 5, 3, tzinfo=UTC), typed="6.1", person="Kim", note="windy",
                    marks=("from a paper log",))  # fmt: skip
    words = msgspec.structs.replace(first, kind="check", station="hens", item="mood", typed="calm", value="calm")
    assert found.drafts == (first, words)
    assert (found.known, found.refused) == (0, ())
    assert found.sentences == ("2 readings are new, 0 were taken in before.", "They are from 2026-05-03 to 2026-05-03.")


def test_what_is_refused_of_a_paper_log_is_said_with_its_row(tmp_path):
    with opened(tmp_path / "history") as history:
        text = "Day,pH,Hens,Who,Remark\n03.05.2026,x,,Kim,\nsoon,6.1,,Kim,\n04.05.2026,6.2,,Kim,\n"
        found = paper_log.preview(history, text, PAPER)
        assert [(each.row, each.heading) for each in found.refused] == [(2, "pH"), (3, "Day")]
        assert found.sentences[-1].startswith("2 cells are refused, the first in row 2, pH: ")
        assert paper_log.apply(history, found) == 1
        again = paper_log.preview(history, text, PAPER)
        assert (again.drafts, again.known) == ((), 1)
        assert again.sentences[0] == "0 readings are new, 1 were taken in before." and len(again.sentences) == 2


NAME = "history/stick/2026/2026-05.jsonl"


def zipped(path, files, packed=zipfile.ZIP_STORED):
    with zipfile.ZipFile(path, "w", packed) as archive:
        for name, data in files:
            archive.writestr(name, data)
    return path


@pytest.mark.parametrize(("sizes", "limits", "fits"), [
    ([10, 10], {"entries": 2}, True), ([10, 10], {"entries": 1}, False), ([10], {"entry_bytes": 10}, True),
    ([11], {"entry_bytes": 10}, False), ([500, 500], {"total_bytes": 2_000}, True),
    ([1_000, 1_001], {"total_bytes": 2_000}, False),
])  # fmt: skip
def test_a_zip_is_taken_in_up_to_its_limits(tmp_path, sizes, limits, fits):
    import re

    files = [(f"f{n}", os.urandom(size)) for n, size in enumerate(sizes)]
    path = zipped(tmp_path / "a.zip", files)
    if fits:
        assert read_zip(path, [re.compile("f[0-9]")], SizeLimits(**limits)) == dict(files)
    else:
        with pytest.raises(BadInput):
            read_zip(path, [re.compile("f[0-9]")], SizeLimits(**limits))


def test_a_file_may_be_200_times_as_large_as_it_is_packed_and_not_more(tmp_path):
    """Random bytes do not shrink and noughts nearly vanish, so each byte more of noughts raises the ratio a little."""
    import random
    import re
    import zlib

    noise = random.Random(1).randbytes(80)

    def packed(size):
        deflate = zlib.compressobj(wbits=-15)
        return len(deflate.compress(noise + bytes(size - len(noise))) + deflate.flush())

    size = next(n for n in range(15_000, 40_000) if n == 200 * packed(n) and packed(n + 1) == packed(n))
    for over in (0, 1):
        data = noise + bytes(size + over - len(noise))
        path = zipped(tmp_path / f"{over}.zip", [("f", data)], zipfile.ZIP_DEFLATED)
        with zipfile.ZipFile(path) as archive:
            (entry,) = archive.infolist()
            assert entry.file_size == 200 * entry.compress_size + over
        if over:
            with pytest.raises(BadInput, match="too large when unpacked"):
                read_zip(path, [re.compile("f")])
        else:
            assert read_zip(path, [re.compile("f")]) == {"f": data}


def test_a_zip_larger_than_any_bundle_or_not_there_is_not_read(tmp_path):
    import re

    path = zipped(tmp_path / "a.zip", [("f", bytes(1_000))], zipfile.ZIP_DEFLATED)
    size = path.stat().st_size
    assert read_zip(path, [re.compile("f")], SizeLimits(total_bytes=1_000, ratio=1_000)) == {"f": bytes(1_000)}
    with pytest.raises(BadInput, match="larger than any bundle"):
        read_zip(path, [re.compile("f")], SizeLimits(total_bytes=size - 1))
    with pytest.raises(BadInput, match="too large"):
        read_zip(path, [re.compile("f")], SizeLimits(ratio=2))
    with pytest.raises(NotFound):
        read_zip(tmp_path / "none.zip", [])
    with pytest.raises(BadInput, match="same name"), pytest.warns(UserWarning, match="Duplicate"):
        read_zip(zipped(tmp_path / "b.zip", [("f", b"1"), ("f", b"2")]), [re.compile("f")])
    with pytest.raises(BadInput, match="packed in a way"):
        read_zip(zipped(tmp_path / "c.zip", [("f", b"1")], zipfile.ZIP_BZIP2), [re.compile("f")])


def test_what_a_merge_would_do_is_said_line_by_line(tmp_path):
    with opened(tmp_path / "b" / "history", device="stick") as other:
        first, second = other.save(reading(), reading(minutes=1))
    with opened(tmp_path / "a") as history:
        assert merge.preview(history, tmp_path / "b").sentences == ("2 records are new, 0 are known already.",)
        merge.apply(history, merge.preview(history, tmp_path / "b"))
        history.replace(first.id, reading(6.5))
    with opened(tmp_path / "b" / "history", device="stick") as other:
        other.replace(first.id, reading(6.6))
        other.void(second.id, person="Kim")
    with opened(tmp_path / "a") as history:
        found = merge.preview(history, tmp_path / "b")
        assert (len(found.new), found.known, len(found.replaced), found.conflicts) == (2, 2, 2, (first.id,))
        assert found.sentences == (
            "2 records are new, 2 are known already.", "2 of the new ones replace a record or take one back.",
            "1 records were replaced on both sides: the later replacement stands.",
        )  # fmt: skip
        assert merge.apply(history, found) == 2 and merge.apply(history, merge.preview(history, tmp_path / "b")) == 0


def test_a_bundle_is_checked_line_by_line():
    record = msgspec.structs.replace(RECORD, id="019e7de7-be00-7000-8000-000000000000", device="stick")
    good = sealed(msgspec.json.encode(record))
    assert merge.checked_files({NAME: good * 2}) == 2 and merge.checked_files({}) == 0
    odd = sealed(msgspec.json.encode(record).replace(b'"seq":1', b'"seq":0'))
    for name, data in ((NAME, good + b"x\n"), (NAME, good[:-1]), ("elsewhere/a.jsonl", good),
                       (NAME.replace("stick", "phone"), good), (NAME, odd), (NAME, sealed(b"[]"))):  # fmt: skip
        with pytest.raises(BadInput):
            merge.checked_files({name: data})
    assert merge.sound_lines("stick", good + b"x\n" + odd + sealed(b'{"a":1,"a":2}') + good) == good + good
    assert merge.sound_lines("phone", good) == b""


def test_a_refused_record_is_named_by_no_more_than_40_characters_of_its_id(tmp_path):
    for id, shown in (("x" * 40, "x" * 40), ("x" * 41, "x" * 39 + "…"), ("a\nb", "a b")):
        path = zipped(tmp_path / "odd.zip", [(NAME, sealed(msgspec.json.encode({"id": id})))])
        with opened(tmp_path / "a") as history:
            (refused,) = merge.preview(history, path).refused
        assert (refused.id, refused.sentence) == (shown, f"Record {shown} does not have the form of a record.")


def test_a_zip_is_merged_by_what_its_names_say(tmp_path):
    """A journal line by line, with what is damaged said; a monthly file by what is still sealed in it."""
    whole, table = line_of(1) + line_of(2), tmp_path / "2026-06.json"
    write_table(table, Disk(), [msgspec.json.decode(open_line(line_of(3)[:-1]))], 0)
    files = [(NAME, whole), (NAME.replace("05.jsonl", "06.json"), table.read_bytes())]
    with opened(tmp_path / "a") as history:
        found = merge.preview(history, zipped(tmp_path / "whole.zip", files))
        assert ([each.seq for each in found.new], found.sentences) == (
            [1, 2, 3], ("3 records are new, 0 are known already.",),
        )  # fmt: skip
        cut = merge.preview(history, zipped(tmp_path / "cut.zip", [(NAME, whole + line_of(4)[:-9])]))
        assert [each.seq for each in cut.new] == [1, 2]
        assert cut.sentences[0] == f"{NAME} is damaged or not complete: 2 records could be read."
        twice = sealed(b'{"id":"1","id":"2"}')
        odd = merge.preview(history, zipped(tmp_path / "odd.zip", [(NAME, line_of(1) + twice)]))
        assert [each.seq for each in odd.new] == [1]
        assert odd.sentences[0] == f"A line of {NAME} was passed over: A key stands twice in the same object."


def line_of(number):
    changes = {"id": f"019e7de7-be00-7000-8000-{number:012d}", "device": "stick", "seq": number, "lamport": number}
    return sealed(msgspec.json.encode(msgspec.structs.replace(RECORD, **changes)))
