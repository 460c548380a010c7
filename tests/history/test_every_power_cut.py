"""The power goes at every moment: every state of the disk that is legal then opens with all that was acknowledged."""

import shutil

import pytest
from history_explorer import RecordingDisk, build, explore, tree_of
from history_tools import ids_in, opened, reading

from rounds.errors import NotSaved
from rounds.history import merge
from rounds.history.backup import backup
from rounds.history.check import check
from rounds.history.disk import write_new
from rounds.history.last_backup import last_backup


def first_save(root, disk):
    with opened(root / "history", disk=disk) as history:
        disk.acknowledge(each.id for each in history.save(reading()))
        disk.acknowledge(each.id for each in history.save(reading(minutes=1), reading(minutes=2)))


def several_values_of_a_line(root, disk):
    with opened(root / "history", disk=disk) as history:
        disk.acknowledge(each.id for each in history.save(reading()))
        disk.acknowledge(each.id for each in history.save(*(reading(minutes=m, note="n" * 1500) for m in range(4))))
        disk.acknowledge(each.id for each in history.save(*(reading(minutes=m) for m in range(5, 8))))


def change_of_month(root, disk):
    with opened(root / "history", disk=disk) as history:
        disk.acknowledge(each.id for each in history.save(reading()))
        disk.acknowledge(each.id for each in history.save(reading(minutes=60 * 24)))


def several_months_at_once(root, disk):
    with opened(root / "history", disk=disk) as history:
        disk.acknowledge(each.id for each in history.save(reading(minutes=60 * 24)))
        disk.acknowledge(each.id for each in history.save(*(reading(minutes=each * 700) for each in range(3))))


def change_of_year(root, disk):
    with opened(root / "history", disk=disk) as history:
        disk.acknowledge(each.id for each in history.save(reading()))
        disk.acknowledge(each.id for each in history.save(reading(minutes=60 * 24 * 300)))


def rewriting(root, disk):
    with opened(root / "history", disk=disk) as history:
        for minutes in range(3):
            disk.acknowledge(each.id for each in history.save(reading(minutes=minutes)))
            history.flush()


def merging(root, disk):
    elsewhere = root.parent / f"{root.name}-stick"
    with opened(elsewhere, device="stick") as other:
        brought = other.save(*(reading(minutes=each * 30_000) for each in range(3)))
    with opened(root / "history", disk=disk) as history:
        disk.acknowledge(each.id for each in history.save(reading()))
        merge.apply(history, merge.preview(history, elsewhere))
        disk.acknowledge(each.id for each in brought)


def going_on_after_a_crash(root, disk):
    """One process dies between making the first file and syncing its folder; the next one writes on."""

    class Killed(Exception):
        pass

    class Dying(RecordingDisk):
        def sync_folder(self, path):
            raise Killed

    dying = Dying(root)
    dying.log = disk.log
    with pytest.raises(Killed):
        opened(root / "history", disk=dying).save(reading())
    with opened(root / "history", disk=disk) as history:
        disk.acknowledge(each.id for each in history.records())
        disk.acknowledge(each.id for each in history.save(reading(minutes=1)))


def left_unfinished(root):
    with opened(root / "history") as history:
        history.save(reading(), reading(minutes=1))
    journal = root / "history" / "bench" / "2026" / "2026-05.jsonl"
    journal.write_bytes(journal.read_bytes() + journal.read_bytes()[:50])
    (root / "history" / "bench" / "2026" / "2026-05.json").unlink()
    (root / "history" / "bench" / "reserve").unlink()


def recovering(root, disk):
    with opened(root / "history", disk=disk) as history:
        disk.acknowledge(each.id for each in history.records())
        disk.acknowledge(each.id for each in history.save(reading(minutes=2)))


BEFORE = {recovering: left_unfinished}
SCENES = [
    first_save,
    several_values_of_a_line,
    change_of_month,
    several_months_at_once,
    change_of_year,
    rewriting,
    merging,
    recovering,
]


def explored(folder, scene, left_out=(), **more):
    root = folder / "farm"
    root.mkdir()
    BEFORE.get(scene, lambda _: None)(root)
    disk = RecordingDisk(root, left_out)
    base = tree_of(root)
    scene(root, disk)
    number = 0

    def visit(tree, acknowledged):
        nonlocal number
        number += 1
        place = folder / f"state-{number}"
        build(place, tree)
        try:
            return complaint(place / "history", acknowledged)
        finally:
            shutil.rmtree(place)

    states, bad = explore(disk.log, base, visit, **more)
    return states, bad


def complaint(folder, acknowledged):
    with opened(folder) as history:
        there = {each.id for each in history.records(replaced=True)}
        harmless = ("cut off after", "was not closed", "broken off", "saved as one")
        strange = [
            each for each in (*history.recovered, *history.warnings) if not any(part in each for part in harmless)
        ]
        (after,) = history.save(reading(minutes=7))
        records = history.records(replaced=True)
        numbers = sorted(each.seq for each in records if each.device == "bench")
        parts = {each.saved_with: sum(other.saved_with == each.saved_with for other in records) for each in records}
    with opened(folder, read_only=True) as history:
        again = {each.id for each in history.records(replaced=True)}
    if acknowledged - there:
        return f"lost {len(acknowledged - there)}"
    if (there | {after.id}) - again:
        return "lost after going on"
    halves = [span for span, count in parts.items() if span and count != span[1] - span[0] + 1]
    if halves or not check(folder).sound:
        return f"half a save {halves}, or not sound {check(folder).sentences}"
    if numbers != list(range(1, len(numbers) + 1)):
        return f"numbers {numbers}"
    return f"said {strange}" if strange else None


@pytest.mark.parametrize("scene", SCENES)
def test_no_power_cut_loses_what_was_acknowledged(quick, scene):
    states, bad = explored(quick, scene, most_per_cut=6)
    assert states > 60
    assert not bad, bad[:3]
    print(f"{scene.__name__}: {states} states, {len(bad)} bad")


@pytest.mark.long
@pytest.mark.parametrize("scene", SCENES)
def test_no_power_cut_loses_anything_however_long_one_looks(quick, scene):
    states, bad = explored(quick, scene, most_per_cut=1_000)
    print(f"{scene.__name__}: {states} states, {len(bad)} bad")
    assert not bad, bad[:3]


@pytest.mark.parametrize(
    ("scene", "left_out"),
    [
        (first_save, lambda name: name.endswith(".jsonl")),
        (first_save, lambda name: name == "history/bench/2026/"),
        (first_save, lambda name: name == "history/bench/"),
        (first_save, lambda name: name == "history/"),
        (first_save, lambda name: name == "./"),
        (change_of_month, lambda name: name == "history/bench/2026/"),
        (change_of_year, lambda name: name == "history/bench/2027/"),
        (change_of_year, lambda name: name == "history/bench/"),
        (rewriting, lambda name: name.endswith(".json.tmp")),
        (merging, lambda name: name.startswith("history/stick")),
    ],
)
def test_the_explorer_finds_the_fault_where_a_sync_is_left_out(quick, scene, left_out):
    states, bad = explored(quick, scene, (left_out,), stop_at_first=True)
    assert bad, f"none of {states} states was bad"


def test_folders_made_by_a_process_that_died_are_synced_by_the_next_one(quick):
    states, bad = explored(quick, going_on_after_a_crash)
    assert states > 40
    assert not bad, bad[:3]


class FailingOnce(RecordingDisk):
    """Once `fail` is set, the next journal that is to be made durable cannot be; what was written may yet arrive."""

    fail = False

    def fsync(self, fd):
        if self.fail and self._files[fd].endswith(".jsonl"):
            self.fail = False
            raise OSError(5, "Input/output error")
        super().fsync(fd)


def test_what_was_said_not_to_be_saved_does_not_come_back_after_a_power_cut(quick):
    root = quick / "farm"
    root.mkdir()
    disk = FailingOnce(root)
    with opened(root / "history", disk=disk) as history:
        history.save(reading())
        disk.fail = True
        with pytest.raises(NotSaved):
            history.save(reading(minutes=1, note="refused"))
        disk.acknowledge(["refused"])
        number = 0

        def visit(tree, told):
            nonlocal number
            number += 1
            build(quick / f"{number}", tree)
            with opened(quick / f"{number}" / "history", read_only=True) as after:
                there = [each.note for each in after.records(replaced=True)]
            return "it is there after all" if told and "refused" in there else None

        states, bad = explore(disk.log, {}, visit)
    assert states > 20
    assert not bad, bad[:3]


def test_an_import_that_the_power_cut_off_is_taken_in_whole_or_not_at_all(quick):
    root = quick / "farm"
    root.mkdir()
    disk = RecordingDisk(root)
    with opened(quick / "stick", device="stick") as other:
        brought = {each.id for each in other.save(reading(), reading(minutes=60 * 24))}
    with opened(root / "history") as history:
        history.save(reading())
    base = tree_of(root)
    with opened(root / "history", disk=disk) as history:
        merge.apply(history, merge.preview(history, quick / "stick"))
    number = 0

    def visit(tree, _):
        nonlocal number
        number += 1
        build(quick / f"{number}", tree)
        opened(quick / f"{number}" / "history").close()
        there = ids_in(quick / f"{number}" / "history") & brought
        shutil.rmtree(quick / f"{number}")
        return None if there in (set(), brought) else "half of it is there"

    states, bad = explore(disk.log, base, visit, most_per_cut=20)
    assert states > 20
    assert not bad, bad[:3]


def test_a_copy_that_was_written_is_there_whole_after_a_power_cut_and_before_it_the_old_one(quick):
    """So are monthly files, the copies of a backup and repaired journals written."""
    root = quick / "farm"
    root.mkdir()
    (root / "2026-05.json").write_bytes(b"as it was")
    base, disk = tree_of(root), RecordingDisk(root)
    write_new(disk, root / "2026-05.json", b"as it is now")
    write_new(disk, root / "2026-06.json", b"a new month")
    disk.acknowledge(["written"])

    def visit(tree, told):
        old_or_new = tree["2026-05.json"] in (b"as it was", b"as it is now")
        new = tree["2026-05.json"] == b"as it is now" and tree.get("2026-06.json") == b"a new month"
        return None if (new if told else old_or_new) else str(tree)

    states, bad = explore(disk.log, base, visit)
    assert states > 10
    assert not bad, bad[:3]


def test_a_backup_that_the_power_cut_off_is_told_of_only_where_it_is_whole(quick):
    """The farm and the stick are two folders of one disk here; the marker may never be there before its backup."""
    root = quick / "root"
    (root / "farm").mkdir(parents=True)
    (root / "farm" / "farm.toml").write_text("name = 'x'")
    with opened(root / "farm" / "history") as history:
        whole = {each.id for each in history.save(reading(), reading(minutes=60 * 24))}
    base, disk = tree_of(root), RecordingDisk(root)
    made = backup(root / "farm", root / "stick", disk=disk, now=history.records()[0].measured_at)
    disk.acknowledge(["backed up"])
    name, number = made.folder.relative_to(root), 0

    def visit(tree, told):
        nonlocal number
        number += 1
        place = quick / f"{number}"
        build(place, tree)
        try:
            is_told = last_backup(place / "farm") is not None
            is_there = (place / name).is_dir()
            if is_there and ids_in(place / name / "history") != whole:
                return "only a part"
            if (is_told or told) and not (is_there and is_told):
                return "told of, but not there"
            return None if ids_in(place / "farm" / "history") == whole else "the farm itself has suffered"
        finally:
            shutil.rmtree(place)

    states, bad = explore(disk.log, base, visit, most_per_cut=20)
    assert states > 20
    assert not bad, bad[:3]
