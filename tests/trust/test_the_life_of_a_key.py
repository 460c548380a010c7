"""A second laptop, a lost one, a copied folder, a backup, a grower locked out; which farm it is; what loads when."""

from __future__ import annotations

import importlib
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.errors import NotSaved, Refused
from rounds.history.disk import Disk
from rounds.history.statements import STATEMENTS
from rounds.relief.bundle import write_back
from rounds.trust import signing
from rounds.trust.keys import keep_pair, kept_pair, new_pair, own_pair
from rounds.trust.owning import doubt
from rounds.trust.signing import sign, standing_of
from rounds.walk.round import close_round, start_round
from tests.trust.conftest import AWAY, HOME, MORNING, Laptop, reading

SUPPORT = str(Path(__file__).parents[1] / "history" / "support")
if SUPPORT not in sys.path:
    sys.path.insert(0, SUPPORT)
explorer: Any = importlib.import_module("history_explorer")

Captured = pytest.CaptureFixture[str]


def own_code(keys: dict[str, Any]) -> str:
    (code,) = [each["code"] for each in keys["keys"] if each["here"]]
    return str(code)


@pytest.fixture
def barn(farm: Path, grower: Laptop, second: Laptop, tmp_path: Path) -> Path:
    """The farm as the grower copied it to a second laptop, where a reading of the first one was put right."""
    with grower.at(farm) as session:
        sign(session.history, MORNING)
        (wrong, *_) = session.history.records()
    copy = Path(shutil.copytree(farm, tmp_path / "barn"))
    second.save(copy, reading(6.9, MORNING, person="ada", replaces=wrong.id), reading(6.3, AWAY, person="ada"), at=AWAY)
    with second.at(copy, AWAY) as session:
        sign(session.history, AWAY)
    return copy


def test_a_second_laptop_speaks_for_the_grower_once_it_is_introduced(
    farm: Path, barn: Path, grower: Laptop, second: Laptop, capsys: Captured
) -> None:
    found = grower.looks_at(farm, barn)
    assert len(found.refused) == 2, "it names ada, and puts right what the first laptop wrote"
    code = own_code(second.keys(barn, capsys))
    assert any(code in each.sentence for each in found.refused)
    assert any(f"--introduce {code}" in each for each in found.sentences)
    assert grower.says("keys", farm, "--introduce", barn, "--name", "barn") == 0
    found = grower.takes_in(farm, barn)
    assert (len(found.new), found.refused) == (2, ())
    row = next(each for each in grower.keys(farm, capsys)["keys"] if each["code"] == code)
    assert (row["rank"], row["name"], row["records"]) == ("grower", "barn", 2)
    assert grower.says("keys", farm, "--introduce", code) == 0
    capsys.readouterr()
    assert grower.says("keys", farm, "--revoke", row["key"]) == 0, "by all of its digits, too"
    assert f"{code} is revoked" in capsys.readouterr().out
    assert grower.says("keys", farm, "--introduce", code) == 1
    assert "was revoked" in capsys.readouterr().err


def test_the_second_laptop_takes_from_the_first_what_it_says_and_hears_of_its_own_introduction(
    farm: Path, barn: Path, grower: Laptop, second: Laptop, capsys: Captured
) -> None:
    code = own_code(second.keys(barn, capsys))
    assert [each["rank"] for each in second.keys(barn, capsys)["keys"] if each["code"] == code] == ["unknown"]
    grower.says("keys", farm, "--introduce", barn)
    grower.save(farm, reading(5.7, AWAY, person="ada"), at=AWAY)
    assert grower.says("backup", farm, barn.parent / "stick") == 0
    (copy,) = (barn.parent / "stick").iterdir()
    assert len(second.takes_in(barn, copy).new) == 1
    assert [each["rank"] for each in second.keys(barn, capsys)["keys"] if each["code"] == code] == ["grower"]


def test_what_the_grower_took_in_one_by_one_comes_to_the_other_laptop_with_the_growers_word(
    farm: Path, barn: Path, theirs: Path, grower: Laptop, second: Laptop, helper: Laptop
) -> None:
    helper.save(theirs, reading(6.6, AWAY, person="ada"), reading(6.7, AWAY, person="ada"), at=AWAY)
    back = helper.hands_back(theirs, barn.parent / "back.zip")
    asked, _ = grower.looks_at(farm, back).refused
    grower.takes_in(farm, back, take=[asked.id])
    grower.says("backup", farm, barn.parent / "stick")
    (copy,) = (barn.parent / "stick").iterdir()
    found = second.takes_in(barn, copy)
    assert ([each.id for each in found.new], found.refused) == ([asked.id], ())
    alone = second.looks_at(barn, back)
    assert len(alone.refused) == 1, "the other one was never taken in"


def test_a_bundle_from_a_laptop_that_is_not_introduced_is_doubted(barn: Path, second: Laptop, capsys: Captured) -> None:
    assert second.says("relief", barn, "--for", "ben", "--bundle", barn.parent / "b.zip") == 0
    assert "is not introduced on this farm" in capsys.readouterr().out
    second.says("keys", barn, "--mine")
    with second.at(barn) as session:
        assert doubt(session.history) == ""


def test_a_lost_laptop_is_revoked_on_another_and_cannot_revoke_it_in_turn(
    farm: Path, barn: Path, grower: Laptop, second: Laptop, capsys: Captured
) -> None:
    """The first laptop is lost; the second says that the farm is its own."""
    lost = own_code(grower.keys(farm, capsys))
    assert second.says("keys", barn, "--revoke", lost) == 1, "its key is nobody's yet"
    assert "not the grower's" in capsys.readouterr().err
    assert second.says("keys", barn, "--mine") == 0
    assert second.says("keys", barn, "--revoke", lost) == 0
    grower.says("keys", farm, "--introduce", barn)
    grower.says("keys", farm, "--revoke", own_code(second.keys(barn, capsys)))
    grower.save(farm, reading(9.9, HOME, person="ada"), at=HOME)
    grower.says("backup", farm, barn.parent / "stick")
    (copy,) = (barn.parent / "stick").iterdir()
    found = second.takes_in(barn, copy)
    assert (found.new, len(found.refused)) == ((), 1)
    assert "revoked" in found.refused[0].sentence
    ranks = {each["code"]: each["rank"] for each in second.keys(barn, capsys)["keys"]}
    assert ranks == {own_code(second.keys(barn, capsys)): "grower", lost: "revoked"}
    assert [each.value for each in second.standing(barn)] == [6.1, 6.0, 6.9, 6.3], "what it signed before is here"
    assert second.says("keys", barn, "--revoke", own_code(second.keys(barn, capsys))) == 1, "never one's own"


def test_a_grower_who_is_locked_out_says_that_the_farm_is_theirs(
    farm: Path, barn: Path, second: Laptop, capsys: Captured, grower: Laptop
) -> None:
    """Every key is revoked or gone; who has the folder has the farm."""
    second.says("keys", barn, "--mine")
    second.says("keys", barn, "--revoke", own_code(grower.keys(farm, capsys)))
    shutil.rmtree(second.state)
    assert second.says("keys", barn, "--mine") == 0
    again = second.keys(barn, capsys)
    assert [each["rank"] for each in again["keys"] if each["here"]] == ["grower"]
    assert grower.says("keys", barn, "--mine") == 0, "a key that was revoked, too"
    assert [each["rank"] for each in grower.keys(barn, capsys)["keys"] if each["here"]] == ["grower"]


def test_a_copied_folder_on_the_same_laptop_signs_with_the_same_key(farm: Path, grower: Laptop, tmp_path: Path) -> None:
    grower.bundled(farm, tmp_path / "b.zip")
    copy = Path(shutil.copytree(farm, tmp_path / "copy"))
    (first, *_) = grower.standing(farm)
    grower.save(copy, reading(5.5, AWAY, person="ada", replaces=first.id), at=AWAY)
    grower.says("backup", copy, tmp_path / "stick")
    (made,) = (tmp_path / "stick").iterdir()
    found = grower.takes_in(farm, made)
    assert (len(found.new), found.refused) == (1, ())


def test_what_this_laptop_wrote_and_lost_comes_back_out_of_its_backup(
    farm: Path, grower: Laptop, tmp_path: Path, capsys: Captured
) -> None:
    before = grower.standing(farm)
    assert grower.says("backup", farm, tmp_path / "stick") == 0
    (made,) = (tmp_path / "stick").iterdir()
    for path in [*farm.rglob("20*.json*"), *farm.rglob("latest.summary")]:
        path.unlink()
    assert grower.standing(farm) == []
    capsys.readouterr()
    assert grower.says("merge", farm, made, "--yes") == 0
    assert grower.standing(farm) == before
    anew = tmp_path / "anew"
    shutil.copytree(farm, anew, ignore=shutil.ignore_patterns("history"))
    assert grower.says("merge", anew, made, "--yes") == 0, "and into a farm that has nothing yet"
    assert grower.standing(anew) == before


def test_a_lost_month_comes_back_out_of_a_backup(farm: Path, grower: Laptop, tmp_path: Path) -> None:
    """The farm still stands, and this laptop's own month is gone from it: its key proves that it wrote that."""
    grower.save(farm, reading(6.6, MORNING - timedelta(days=40), person="ada"))
    before = grower.standing(farm)
    grower.says("backup", farm, tmp_path / "stick")
    (made,) = (tmp_path / "stick").iterdir()
    for path in [*farm.rglob("2026-10.json*"), *farm.rglob("latest.summary")]:
        path.unlink()
    found = grower.takes_in(farm, made)
    assert (len(found.new), found.refused) == (1, ())
    assert grower.standing(farm) == before


def test_another_farms_records_are_refused_with_both_names_until_it_is_said_that_it_is_the_same(
    farm: Path, grower: Laptop, second: Laptop, tmp_path: Path, lay_out_farm: Callable[[Path], Path], capsys: Captured
) -> None:
    other = lay_out_farm(tmp_path / "other")
    text = (other / "farm.toml").read_text(encoding="utf-8").replace('"Test farm"', '"Far field"')
    (other / "farm.toml").write_text(text, encoding="utf-8")
    second.save(other, *(reading(5.0 + n / 100, person="ben") for n in range(34)))
    before = grower.standing(farm)
    for where in (other, other / "history", second.hands_back(other, tmp_path / "far.zip")):
        assert grower.says("merge", farm, where, "--yes") == 1
        told = capsys.readouterr().err
        assert "another farm" in told
        assert "Test farm" in told
        assert ("Far field" in told) == (where != other / "history") or "Far field" in told
    assert grower.standing(farm) == before
    assert grower.says("merge", farm, other, "--yes", "--same") == 0
    assert len(grower.standing(farm)) == len(before) + 34
    assert grower.says("merge", farm, other, "--yes") == 0, "it was said once"


def test_another_farm_of_the_same_folder_name_is_not_backed_up_among_its_backups(
    farm: Path, grower: Laptop, tmp_path: Path, lay_out_farm: Callable[[Path], Path], capsys: Captured
) -> None:
    (tmp_path / "else").mkdir()
    other = lay_out_farm(tmp_path / "else" / farm.name)
    grower.save(other, reading(5.0))
    assert grower.says("backup", farm, tmp_path / "stick") == 0
    assert grower.says("backup", other, tmp_path / "stick") == 1
    assert "backups of another farm" in capsys.readouterr().err
    assert grower.says("backup", farm, tmp_path / "stick") == 0


def test_a_round_that_is_closed_is_signed_before_the_farm_is(farm: Path, grower: Laptop) -> None:
    with grower.at(farm) as session:
        close_round(session, start_round(session, "morning"), {"open": []})
        device = session.history.device
        assert standing_of(session.history).blocks == {}, "closing does not wait for it"
    with grower.at(farm) as session:
        standing = standing_of(session.history)
        last = session.history.library.counters.seq(device)
        assert standing.signer_of(device, "2026-11", last) in standing.mine


def test_what_is_stated_grows_by_months_and_not_by_rounds(
    farm: Path, grower: Laptop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(signing, "MOST_LEFT_BEHIND", 5)
    with grower.at(farm) as session:
        history = session.history
        for number in range(20):
            history.save(reading(6.0, MORNING + timedelta(minutes=number)))
            sign(history, MORNING)
        standing = standing_of(history)
        assert sum(map(len, standing.blocks.values())) <= 6
        assert standing.signer_of(history.device, "2026-11", 23) in standing.mine
        assert standing.farm_ids


def test_nothing_of_signing_is_loaded_to_start_or_to_save(farm: Path) -> None:
    script = (
        "import sys; from pathlib import Path; from rounds.cli import main\n"
        "code = main(['enter', sys.argv[1], 'res-1', 'ph 6.1']) or main(['due', sys.argv[1]])\n"
        "found = [name for name in sys.modules if name.partition('.')[0] == 'cryptography' or 'rounds.trust' in name]\n"
        "print(code, found)"
    )
    done = subprocess.run([sys.executable, "-c", script, str(farm)], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "0 []"


def test_where_no_key_can_be_kept_the_record_is_saved_and_the_rest_is_said(
    farm: Path, tmp_path: Path, capsys: Captured
) -> None:
    (tmp_path / "file").write_text("in the way")
    blocked = Laptop(tmp_path / "file")
    with blocked.at(farm) as session:
        close_round(session, start_round(session, "morning"), {"open": []})
        session.history.flush()
        assert any("not signed" in each for each in session.history.warnings)
        assert session.history.records()[-1].value == "closed"
    assert blocked.says("backup", farm, tmp_path / "stick") == 0
    assert "copied unsigned" in capsys.readouterr().err


def test_a_power_cut_while_records_are_handed_back_leaves_no_bundle_or_the_whole_one(
    farm: Path, theirs: Path, helper: Laptop, tmp_path: Path
) -> None:
    helper.save(theirs, reading(6.3, AWAY, person="ben"), at=AWAY)
    stick = tmp_path / "stick"
    stick.mkdir()
    disk = explorer.RecordingDisk(stick)
    with helper.at(theirs, AWAY) as session:
        write_back(session, stick / "back.zip", disk=disk)
    disk.acknowledge(["What was written down here is in back.zip"])
    whole = (stick / "back.zip").read_bytes()

    def visit(tree: dict[str, bytes | None], acknowledged: set[str]) -> str | None:
        found = tree.get("back.zip")
        if found is None:
            return "gone" if acknowledged else None
        return None if found == whole else "a part"

    states, bad = explorer.explore(disk.log, {}, visit)
    assert states > 5
    assert not bad, bad[:3]


def test_a_power_cut_while_a_key_is_kept_leaves_no_key_or_the_whole_one(tmp_path: Path) -> None:
    pair, state = new_pair(), tmp_path / "state"
    state.mkdir()
    disk = explorer.RecordingDisk(state)
    keep_pair(pair, state=state, disk=disk)
    disk.acknowledge(["kept"])
    name = next(path for path in state.rglob("*.json")).relative_to(state)
    assert kept_pair(pair.public, state) == pair
    whole = (state / name).read_bytes()

    def visit(tree: dict[str, bytes | None], acknowledged: set[str]) -> str | None:
        found = tree.get(str(name))
        return ("gone" if acknowledged else None) if found is None else None if found == whole else "a part"

    states, bad = explorer.explore(disk.log, {}, visit)
    assert states > 5
    assert not bad, bad[:3]


def test_a_key_file_that_is_none_is_said_and_not_written_over(farm: Path, grower: Laptop, tmp_path: Path) -> None:
    grower.bundled(farm, tmp_path / "b.zip")
    own = grower.state / "rounds" / "keys" / "own.json"
    for odd in (b"", b"[]", b'{"seed":"zz"}', b'{"seed":"00"}'):
        own.write_bytes(odd)
        with grower.at(farm) as session, pytest.raises(NotSaved, match="cannot be read"):
            sign(session.history, MORNING)
        assert own.read_bytes() == odd


def test_keys_are_the_growers_to_say(farm: Path, theirs: Path, helper: Laptop, capsys: Captured) -> None:
    before = next(path for path in theirs.rglob(STATEMENTS)).read_bytes()
    assert helper.says("keys", theirs, "--mine") == 1
    assert "Keys are for the grower" in capsys.readouterr().err
    assert next(path for path in theirs.rglob(STATEMENTS)).read_bytes() == before
    for words in (["--introduce", "nothing"], ["--revoke", "0000-0000"]):
        assert helper.says("keys", farm, *words) == 1
    with helper.at(theirs, AWAY) as session, pytest.raises(Refused):
        from rounds.relief.handed_over import looked_at

        looked_at(session, farm, take=["x"])


def test_the_help_says_what_is_a_habit_and_what_is_a_lock(helper: Laptop, capsys: Captured) -> None:
    assert helper.says("keys", "--help") == 0
    told = " ".join(capsys.readouterr().out.split())
    for word in ("--as NAME is a habit", "The signature is a lock", "belongs to who can read the disk"):
        assert word in told


def test_of_two_windows_that_make_the_first_key_at_once_the_first_ones_stays(tmp_path: Path) -> None:
    """Both have seen that there is none; the later one must not sign with a key that is gone."""
    first, later = new_pair(), new_pair()

    class Slow(Disk):
        def link(self, source: Path, target: Path) -> None:
            keep_pair(first, "own", tmp_path)
            super().link(source, target)

    keep_pair(later, "own", tmp_path, disk=Slow())
    assert own_pair(tmp_path) == first
    assert [path.name for path in (tmp_path / "rounds" / "keys").iterdir()] == ["own.json"]
