"""A farm file that was cut, lost or broken: the farm that was sound last is walked, by its clock, and not dosed."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from rounds.cli import main
from rounds.errors import BadInput, NotFound
from rounds.farm.farm import FaultyFiles
from rounds.history.record import Draft
from rounds.history.store import History
from rounds.resources import sample_farm_folder
from rounds.walk.missing import missing_lines
from rounds.walk.offering import work_out
from rounds.walk.session import Session, system_clock
from rounds.walk.sound_farm import FILES, FOLDER, last_kept

READ = "ph 6.6 ec 1.3 t 21 dip 31"
Say = Callable[..., tuple[int, str, str]]


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Say:
    """Run a verb on a farm; give its exit code, what it says, and what it says aside."""

    def run(folder: Path, verb: str, *rest: str) -> tuple[int, str, str]:
        capsys.readouterr()
        code = main([verb, str(folder), *rest])
        both = capsys.readouterr()
        return code, both.out, both.err

    return run


@pytest.fixture
def known_farm(farm_folder: Path, say: Say) -> Path:
    """The small farm, with something written down at each station."""
    for station, line in (("res-1", "ph 6.0"), ("ch-1", "flow 1.1"), ("ch-2", "flow 1.1"), ("hens", "eggs 7")):
        assert say(farm_folder, "enter", station, line)[0] == 0
    return farm_folder


def rewrite(folder: Path, old: str, new: str, file: str = "farm.toml") -> None:
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def forget(folder: Path) -> None:
    """Take the copies of the files away, as on a farm that was never opened by this version."""
    for path in (folder / "history").glob(f"*/{FOLDER}"):
        shutil.rmtree(path)


def is_dosed(folder: Path) -> bool:
    session = Session.open(folder, read_only=True)
    with session.history:
        visit = {"ph": 6.6, "ec": 1.3, "t": 21.0, "dip": 31.0}
        try:
            from rounds.advice.correction import Readings

            made = work_out(session, "res-1", Readings(at=session.now(), ph=visit["ph"], ec_ms_cm=visit["ec"],
                                                       temperature_c=visit["t"], dip_cm=visit["dip"]))  # fmt: skip
        except FaultyFiles:
            return False
        return bool(made.steps)


def test_the_files_are_kept_when_they_are_sound_and_again_when_they_change(known_farm: Path, say: Say) -> None:
    kept = last_kept(known_farm)
    assert kept is not None
    assert {name: kept.bytes_of(name) for name in FILES} == {name: (known_farm / name).read_bytes() for name in FILES}
    rewrite(known_farm, "birds = 12", "birds = 11")
    say(known_farm, "due")
    assert b"birds = 12" in kept.bytes_of("farm.toml")
    say(known_farm, "enter", "hens", "eggs 6")
    (only,) = (known_farm / "history").glob(f"*/{FOLDER}/*")
    assert b"birds = 11" in (only / "farm.toml").read_bytes()
    rewrite(known_farm, "birds = 11", "birds = 'x'")
    say(known_farm, "enter", "ch-1", "flow 1.2")
    assert b"birds = 11" in (only / "farm.toml").read_bytes()


BROKEN = {"comma": "a = 1,5\n", "empty": "", "no station": 'format = 1\nname = "F"\n', "nul": "\0" * 900,
          "deep": "x = " + "[" * 99}  # fmt: skip


@pytest.mark.parametrize("fault", [*BROKEN, "gone"])
def test_a_farm_that_cannot_be_read_is_walked_as_it_was_and_not_dosed(known_farm: Path, say: Say, fault: str) -> None:
    before = say(known_farm, "due")[1].splitlines()[1:]
    assert is_dosed(known_farm)
    if fault == "gone":
        (known_farm / "farm.toml").unlink()
    else:
        (known_farm / "farm.toml").write_text(BROKEN[fault], encoding="utf-8")
    code, told, aside = say(known_farm, "due")
    lines = told.splitlines()
    assert code == 1
    assert lines[0].startswith("! This is the farm as it was on ") and "when farm.toml was sound last." in lines[0]
    assert lines[1] == "! farm.toml can't be used: there are no doses."
    assert lines[3:] == before
    assert "farm.toml" in aside
    assert say(known_farm, "check")[0] == 1
    code, told, aside = say(known_farm, "enter", "ch-1", "flow 1.3")
    assert (code, "flow 1.3" in told, "farm.toml" in aside) == (0, True, True)
    code, told, aside = say(known_farm, "correct", "res-1", READ)
    assert code == 1 and "farm.toml" in aside
    for words in (("mix", "change-out", "res-1"), ("mix", "top-up", "res-1"), ("mix", "concentrate", "leaf")):
        code, told, aside = say(known_farm, *words)
        assert code == 1, (words, told)
    assert not is_dosed(known_farm)
    assert say(known_farm, "relief", "--bundle", str(known_farm.parent / "b.zip"))[0] == 1
    assert last_kept(known_farm) is not None


def test_a_farm_whose_file_is_broken_before_it_was_ever_kept_is_refused_with_its_mistake(farm_folder: Path) -> None:
    (farm_folder / "farm.toml").write_text("a = 1,5", encoding="utf-8")
    with pytest.raises(BadInput, match=r"write 1\.5, not 1,5"):
        Session.open(farm_folder)


@pytest.mark.parametrize("fault", ["a = 1,5", None])
def test_the_clock_is_that_of_the_farm_as_it_was(known_farm: Path, say: Say, fault: str | None) -> None:
    rewrite(known_farm, 'timezone = "UTC"', 'timezone = "Etc/GMT-9"')
    say(known_farm, "enter", "hens", "eggs 6")
    if fault is None:
        rewrite(known_farm, "latitude = 47.2", "latitude = 470.2")
    else:
        (known_farm / "farm.toml").write_text(fault, encoding="utf-8")
    session = Session.open(known_farm, read_only=True)
    assert session.mistakes
    assert session.now().utcoffset() == timedelta(hours=9)


def without_hens(folder: Path) -> None:
    path = folder / "farm.toml"
    head, *rows = path.read_text(encoding="utf-8").split("[[stations]]")
    path.write_text("[[stations]]".join([head, *[row for row in rows if '"hens"' not in row]]), encoding="utf-8")


@pytest.mark.parametrize("keeps", [True, False])
def test_a_station_that_is_gone_from_a_sound_file_is_said_until_it_is_said_to_be_gone(
    known_farm: Path, say: Say, keeps: bool
) -> None:
    without_hens(known_farm)
    rewrite(known_farm, 'name = "Test farm"', 'name = "Tested farm"')
    if not keeps:
        forget(known_farm)
    code, told, aside = say(known_farm, "due")
    assert code == 1
    assert told.splitlines()[0] == "! 1 station is gone from farm.toml without a word: hens."
    assert told.splitlines()[-1].split() == ["hens", "not", "readable"]
    assert 'gone = ["hens"]' in aside
    assert say(known_farm, "check")[0] == 1
    with pytest.raises(NotFound, match=r"gone from farm\.toml, though the record knows it"):
        Session.open(known_farm, read_only=True).farm.station("hens")
    assert is_dosed(known_farm) is keeps, "hens change no reservoir; what nobody knows may be anything"
    rewrite(known_farm, 'name = "Tested farm"', 'name = "Tested farm"\ngone = ["hens"]')
    code, told, aside = say(known_farm, "due")
    assert (code, aside) == (0, "") and "hens" not in told
    assert is_dosed(known_farm)
    assert say(known_farm, "enter", "ch-1", "flow 1.2")[0] == 0
    assert last_kept(known_farm) is not None


def test_a_channel_that_is_gone_shuts_the_doses_of_its_reservoir(known_farm: Path, say: Say) -> None:
    path = known_farm / "farm.toml"
    head, *rows = path.read_text(encoding="utf-8").split("[[stations]]")
    path.write_text("[[stations]]".join([head, rows[0], rows[1], rows[3]]), encoding="utf-8")
    assert say(known_farm, "due")[1].splitlines()[0] == "! 1 station is gone from farm.toml without a word: ch-2."
    assert not is_dosed(known_farm)


def test_a_file_that_is_only_its_own_beginning_is_taken_for_cut_until_a_line_says_that_it_is_whole(
    known_farm: Path, say: Say
) -> None:
    path = known_farm / "farm.toml"
    whole = path.read_text(encoding="utf-8")
    path.write_text(whole.removesuffix("sick = true\n" + whole.partition("sick = true\n")[2]), encoding="utf-8")
    code, _, aside = say(known_farm, "due")
    assert code == 1 and "farm.toml is cut short" in aside and "# whole" in aside
    assert list(Session.open(known_farm, read_only=True).farm.stations) == ["res-1", "ch-1", "ch-2", "hens"]
    path.write_text(path.read_text(encoding="utf-8") + "# whole\n", encoding="utf-8")
    assert list(Session.open(known_farm, read_only=True).farm.stations) == ["res-1", "ch-1", "ch-2"]
    assert say(known_farm, "due")[1].splitlines()[0] == "! 1 station is gone from farm.toml without a word: hens."


@pytest.mark.parametrize(
    ("file", "upto"), [("feeds.toml", '[[feeds.stages]]\nid = "young"'), ("shelf.toml", '[[products]]\nkind = "base"')]
)
def test_feeds_or_a_shelf_that_were_cut_shut_the_doses(known_farm: Path, say: Say, file: str, upto: str) -> None:
    path = known_farm / file
    if file == "feeds.toml":
        stages = '[[feeds.stages]]\nid = "young"\nec = [1, 1.2]\nph = [5.6, 6.2]\n'
        path.write_text(path.read_text(encoding="utf-8") + stages, encoding="utf-8")
        say(known_farm, "enter", "hens", "eggs 5")
    path.write_text(path.read_text(encoding="utf-8").partition(upto)[0], encoding="utf-8")
    code, told, aside = say(known_farm, "due")
    assert code == 1 and f"{file} is cut short" in aside
    assert f"! {file} can't be used: there are no doses." in told
    assert not is_dosed(known_farm)


def test_a_blank_line_or_a_remark_less_is_no_cut(known_farm: Path, say: Say) -> None:
    path = known_farm / "farm.toml"
    whole = path.read_text(encoding="utf-8")
    path.write_text(whole + "\n\n# the end\n", encoding="utf-8")
    say(known_farm, "enter", "hens", "eggs 5")
    path.write_text(whole, encoding="utf-8")
    assert say(known_farm, "due")[0] == 0


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample farm's files, something written down at each station, and the copy of the files."""
    folder = tmp_path_factory.mktemp("sound") / "farm"
    folder.mkdir()
    for name in FILES:
        shutil.copyfile(sample_farm_folder() / name, folder / name)
    session = Session.open(folder)
    with session.history:
        session.save(*[Draft(kind="note", station=each, note="seen", measured_at=session.now())
                       for each in session.farm.stations])  # fmt: skip
    assert last_kept(folder) is not None
    return folder


def smaller_without_a_word(folder: Path, before: set[str]) -> str | None:
    """What is wrong with how a cut farm is told."""
    session = Session.open(folder, read_only=True)
    with session.history:
        farm = session.farm
    known = {*farm.stations, *farm.left_out, *(each.id for each in farm.lost)}
    if before - known:
        return f"{sorted(before - known)} gone without a word"
    if before == set(farm.stations) and not farm.mistakes:
        return None
    return None if session.mistakes and missing_lines(session) else "nothing is said"


def cuts(text: str, *, every: bool) -> list[int]:
    ends = [number for number, letter in enumerate(text) if letter == "\n"]
    some = random.Random(11)
    return list(range(len(text))) if every else sorted({*some.sample(ends, 40), *some.sample(range(len(text)), 40)})


@pytest.mark.parametrize("every", [False, pytest.param(True, marks=pytest.mark.long)])
@pytest.mark.parametrize("keeps", [True, False], ids=["kept", "not kept"])
def test_no_cut_of_the_farms_file_makes_a_smaller_farm_without_a_word(
    recorded: Path, tmp_path: Path, keeps: bool, every: bool
) -> None:
    folder = Path(shutil.copytree(recorded, tmp_path / "farm"))
    whole = (folder / "farm.toml").read_bytes()
    before = set(Session.open(folder, read_only=True).farm.stations)
    if not keeps:
        forget(folder)
    for at in cuts(whole.decode(), every=every):
        (folder / "farm.toml").write_bytes(whole[:at])
        try:
            wrong = smaller_without_a_word(folder, before)
        except BadInput:
            assert not keeps
            continue
        assert wrong is None, (at, wrong, whole[max(0, at - 80) : at])
        if keeps and whole[at:].strip():
            assert set(Session.open(folder, read_only=True).farm.stations) == before, at
    assert system_clock()


@pytest.mark.parametrize(("old", "new"), [
    ("ec = [1.5, 1.9]", "ec = [1.9, 1.5]"), ("a_ml_per_l = 5", "a_ml_per_l = 900"), ('name = "Leaf feed"', "name = 5"),
    ("ph = [5.6, 6.2]", "phh = [5.6, 6.2]"),
])  # fmt: skip
def test_a_mistake_in_a_feed_shuts_the_doses_of_that_feed_and_walks_its_reservoirs(
    known_farm: Path, say: Say, old: str, new: str
) -> None:
    second = (known_farm / "feeds.toml").read_text(encoding="utf-8").partition("[[feeds]]")[2]
    path = known_farm / "feeds.toml"
    second = second.replace('"leaf"', '"other"')
    path.write_text(f"{path.read_text(encoding='utf-8')}\n[[feeds]]{second}", "utf-8")
    head, *rows = (known_farm / "farm.toml").read_text(encoding="utf-8").split("[[stations]]")
    other = rows[0].replace("res-1", "res-2").replace('feed = "leaf"', 'feed = "other"')
    (known_farm / "farm.toml").write_text("[[stations]]".join([head, *rows, other]), encoding="utf-8")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    farm = Session.open(known_farm, read_only=True).farm
    assert list(farm.stations) == ["res-1", "ch-1", "ch-2", "hens", "res-2"]
    assert not is_dosed(known_farm)
    code, told, aside = say(known_farm, "correct", "res-1", READ)
    assert code == 1 and "feeds.toml, feed leaf" in aside
    code, told, _ = say(known_farm, "correct", "res-2", READ)
    assert code == 0 and "1." in told
    assert say(known_farm, "due")[0] == 1
    assert say(known_farm, "enter", "res-1", "ph 6.0")[0] == 0
    for words in (("mix", "change-out", "res-1"), ("mix", "top-up", "res-1"), ("mix", "concentrate", "leaf")):
        code, told, aside = say(known_farm, *words)
        assert code == 1 and "feeds.toml, feed leaf" in aside, (words, told, aside)
    for words in (("due",), ("card",), ("change",), ("history",), ("relief", "--report")):
        assert say(known_farm, *words)[0] in (0, 1)


def test_a_record_of_a_helpers_own_files_is_not_mistaken_for_the_growers(known_farm: Path) -> None:
    """Copies of several devices: the newest is the farm as it was."""
    (own,) = (known_farm / "history").glob(f"*/{FOLDER}/*")
    older = known_farm / "history" / "d-other" / FOLDER / "2020-01-01T000000.000000Z"
    shutil.copytree(own, older)
    (known_farm / "history" / "d-other" / FOLDER / "2030-01-01T000000.000000Z.unfinished").mkdir()
    kept = last_kept(known_farm)
    assert kept is not None and kept.folder == own


def test_a_copy_that_cannot_be_made_stops_nothing(known_farm: Path, say: Say, monkeypatch: pytest.MonkeyPatch) -> None:
    rewrite(known_farm, "birds = 12", "birds = 11")
    (own,) = (known_farm / "history").glob(f"*/{FOLDER}")
    shutil.rmtree(own)
    own.write_text("a file in its place")
    code, told, _ = say(known_farm, "enter", "hens", "eggs 4")
    assert (code, "eggs 4" in told) == (0, True)
    with History.open(known_farm / "history", read_only=True) as history:
        assert history.records(item="eggs")[-1].value == 4
