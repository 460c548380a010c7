"""Files as earlier and later versions write them. The folders under `formats` are never written again."""

import shutil
from pathlib import Path

import msgspec
import pytest
from history_tools import NOON, ids_in, opened, reading

from rounds.errors import NotSaved
from rounds.history import merge
from rounds.history.check import check
from rounds.history.journal import opened as open_line

FORMATS = Path(__file__).parent / "formats"


@pytest.fixture
def copied(tmp_path):
    def copy(name):
        return Path(shutil.copytree(FORMATS / name, tmp_path / name))

    return copy


def content(folder):
    return {each.relative_to(folder): each.read_bytes() for each in folder.rglob("*.json*")}


@pytest.mark.parametrize("name", ["format_1", "format_1_with_later_fields"])
def test_records_of_format_1_are_read_as_they_were_written(copied, name):
    with opened(copied(name)) as history:
        old, check_of_roots, new = history.records(replaced=True)
        assert (old.value, old.typed, old.unit, old.person, old.note) == (6.4, "6,4", "pH", "Kim", "ü")
        assert (old.measured_at, old.seq, old.lamport) == (NOON, 1, 1)
        assert (check_of_roots.kind, check_of_roots.value) == ("check", True)
        assert (new.value, new.replaces) == (6.1, old.id)
        assert history.records() == [check_of_roots, new]
        assert history.recovered == ()


def test_writing_on_changes_no_line_of_an_earlier_version(copied):
    folder = copied("format_1")
    before = content(folder)
    with opened(folder) as history:
        assert history.save(reading(minutes=2))[0].seq == 4
    for name, data in content(folder).items():
        if name.suffix == ".jsonl":
            assert data.startswith(before[name])
    assert check(folder).sound


def test_fields_of_a_later_version_are_kept(copied):
    folder = copied("format_1_with_later_fields")
    with opened(folder) as history:
        assert history.records()[0].extra == {"probe": "P-2", "weather": {"air_c": 12.5, "sky": "grey"}}
        history.save(reading(minutes=2))
    table = msgspec.json.decode((folder / "bench" / "2026" / "2026-05.json").read_bytes())
    assert table["tables"]["records"]["1"]["rec"]["weather"] == {"air_c": 12.5, "sky": "grey"}
    with opened(folder.parent / "other", device="stick") as other:
        merge.apply(other, merge.preview(other, folder))
        assert other.records()[0].extra["probe"] == "P-2"
    line = (folder.parent / "other" / "bench" / "2026" / "2026-05.jsonl").read_bytes().split(b"\n")[0]
    assert msgspec.json.decode(open_line(line))["probe"] == "P-2"
    assert check(folder).sound and check(folder.parent / "other").sound


@pytest.mark.parametrize("name", ["format_2", "format_1_with_monthly_file_2"])
def test_a_newer_format_opens_for_reading_only_with_a_message_and_nothing_changes(copied, name):
    folder = copied(name)
    before = content(folder)
    for _ in range(2):
        with opened(folder) as history:
            history.records(replaced=True)
            assert history.read_only
            assert any("newer version" in each for each in history.warnings)
            with pytest.raises(NotSaved):
                history.save(reading())
    assert content(folder) == before


def test_records_of_a_newer_format_are_refused_by_a_merge(copied, tmp_path):
    with opened(tmp_path / "a") as history:
        shown = merge.preview(history, copied("format_2"))
        assert (len(shown.new), len(shown.refused)) == (0, 3)
        assert "newer version" in shown.refused[0].sentence


def test_the_fixtures_are_whole():
    assert check(FORMATS / "format_1").sound
    assert len(ids_in(FORMATS / "format_1")) == 3
