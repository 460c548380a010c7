"""Each way in which somebody could speak for the grower, or undo what the grower wrote; and what a helper may."""

from __future__ import annotations

import json
import shutil
import zipfile
from datetime import timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any

import msgspec
import pytest

from rounds.history.journal import parse, sealed
from rounds.history.record import Draft, Record
from rounds.history.statements import STATEMENTS
from rounds.history.store import History
from rounds.trust.blocks import Coverage, digest_of
from rounds.trust.keys import new_pair
from rounds.trust.owning import say_mine
from rounds.trust.signing import sign, standing_of
from rounds.trust.standing import MOST_FAILED, Standing
from rounds.trust.statements import Block, Taken, read, signed
from tests.trust.conftest import AWAY, HOME, LAST, MORNING, Laptop, reading


def void(id: str, **more: Any) -> Draft:
    return Draft(kind="reading", station="res-1", item="ph", measured_at=AWAY, replaces=id, void=True, **more)


def reasons(found: Any) -> list[str]:
    return [each.sentence for each in found.refused]


def rebuilt(bundle: Path, change: Any) -> Path:
    """A bundle anew with its lines changed, and its checksums brought up to date: whoever made it can do that."""
    with zipfile.ZipFile(bundle) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(files.pop("bundle.json"))
    files = {name: change(data) if name.endswith(".jsonl") else data for name, data in files.items()}
    manifest["files"] = {name: sha256(data).hexdigest() for name, data in files.items()}
    changed = bundle.with_name("changed.zip")
    with zipfile.ZipFile(changed, "w") as archive:
        for name, data in {"bundle.json": json.dumps(manifest).encode(), **files}.items():
            archive.writestr(name, data)
    return changed


def with_docs(data: bytes, change: Any) -> bytes:
    docs = (change(json.loads(body)) for body in parse(data).bodies)
    return b"".join(sealed(json.dumps(doc, separators=(",", ":")).encode()) for doc in docs)


def another_line(journal: bytes) -> bytes:
    """A line like the first one of a journal, with another reading and another id."""
    doc = json.loads(parse(journal).bodies[0])
    return sealed(json.dumps(doc | {"value": 8.8, "id": doc["id"][:-2] + "00"}, separators=(",", ":")).encode())


def unsigned(farm: Path, *drafts: Draft, device: str = "d-old", at: Any = HOME) -> Path:
    """A history that nobody signed, as an old version made them."""
    with History.open(farm, device=device, now=lambda: at) as history:
        history.save(*drafts)
    return farm


def test_a_helper_adds_and_puts_right_what_is_their_own(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path
) -> None:
    (wrong,) = helper.save(theirs, reading(7.9, AWAY, person="ben"), at=AWAY)
    grower.takes_in(farm, helper.hands_back(theirs, tmp_path / "half.zip"))
    helper.save(theirs, reading(6.9, AWAY, person="ben", replaces=wrong.id), at=AWAY + timedelta(days=1))
    found = grower.takes_in(farm, helper.hands_back(theirs, tmp_path / "back.zip"))
    assert (found.refused, len(found.new)) == ((), 1)
    assert [each.value for each in grower.standing(farm)] == [6.2, 6.1, 6.0, 6.9]


def test_a_merge_that_takes_back_the_growers_readings_takes_none_back(
    farm: Path, grower: Laptop, helper: Laptop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    many = [reading(6.0, MORNING - timedelta(hours=n), person="ada") for n in range(364)]
    grower.save(farm, *many)
    theirs = helper.opens(grower.bundled(farm, tmp_path / "bundle.zip"), tmp_path / "theirs")
    with helper.at(theirs) as session:
        targets = session.history.records()
    taking = [msgspec.structs.replace(void(each.id, person="ben"), measured_at=each.measured_at) for each in targets]
    helper.save(theirs, *taking, reading(6.4, AWAY, person="ben"), at=AWAY)
    back = helper.hands_back(theirs, tmp_path / "back.zip")
    capsys.readouterr()
    assert grower.says("merge", farm, back, "--yes", "--json") == 1
    form = json.loads(capsys.readouterr().out)
    assert (form["taken"], form["replaced"], len(form["refused"])) == (1, 0, len(targets))
    assert len(grower.standing(farm)) == len(targets) + 1
    told = form["refused"][0]
    assert "takes back what is not theirs" in told["sentence"]
    assert "by ada" in told["sentence"], "whose"
    assert "reading ph 6" in told["sentence"], "what"
    assert "2026-11-" in told["sentence"], "since when"

    assert grower.says("merge", farm, back, "--yes", "--take", told["id"]) == 1, "the others are still refused"
    assert "is not theirs" in capsys.readouterr().out
    assert len(grower.standing(farm)) == len(targets), "one is taken back, by the grower's own will"


def test_a_helpers_bundle_does_not_speak_for_the_grower(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path
) -> None:
    helper.save(theirs, reading(9.9, AWAY, person="ada"), reading(6.3, AWAY, person="ben"), at=AWAY)
    found = grower.takes_in(farm, helper.hands_back(theirs, tmp_path / "back.zip"))
    assert [each.value for each in found.new] == [6.3]
    assert reasons(found) == ["It names ada, but comes under the key that was made for ben."]


def test_what_only_a_grower_writes_does_not_come_in_from_a_helper(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path
) -> None:
    helper.save(
        theirs, Draft(kind="stock", item="leaf-a", value=0.0, unit="L", measured_at=AWAY, person="ben"), at=AWAY
    )
    found = grower.takes_in(farm, helper.hands_back(theirs, tmp_path / "back.zip"))
    assert reasons(found) == ["It is of a kind that only the grower writes."]


@pytest.mark.parametrize(("days", "taken"), [(-2, False), (0, True), (1, True), (4, True), (5, False)])
def test_a_bundle_is_good_from_the_handing_over_to_the_morning_after_its_last_day(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path, days: int, taken: bool
) -> None:
    """Handed over on the 25th for the 26th to the 28th; read at six in the morning."""
    at = MORNING + timedelta(days=days)
    helper.save(theirs, reading(6.3, at, person="ben"), at=at)
    found = grower.looks_at(farm, helper.hands_back(theirs, tmp_path / "back.zip", at=at))
    assert len(found.new) == taken
    assert reasons(found) == ([] if taken else [
        "It is outside the days of its key, 2026-11-26 to 2026-11-28, made for ben."
    ])  # fmt: skip


def test_an_old_bundle_brought_again_changes_nothing_and_does_not_undo_what_was_put_right_since(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path
) -> None:
    (wrong,) = helper.save(theirs, reading(7.9, AWAY, person="ben"), at=AWAY)
    old = helper.hands_back(theirs, tmp_path / "old.zip")
    grower.takes_in(farm, old)
    grower.save(farm, reading(6.2, AWAY, person="ada", replaces=wrong.id), at=HOME)
    again = grower.takes_in(farm, old)
    assert (again.new, again.refused) == ((), ())
    helper.save(theirs, *(reading(8.8, AWAY, person="ben", replaces=wrong.id) for _ in range(9)), at=AWAY)
    found = grower.takes_in(farm, helper.hands_back(theirs, tmp_path / "back.zip"))
    assert len(found.refused) == 9
    assert all("is not theirs" in each and "by ada" in each for each in reasons(found))
    assert [each.value for each in grower.standing(farm)][-1] == 6.2


def test_lines_that_were_changed_after_they_were_signed_do_not_come_in(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path
) -> None:
    helper.save(theirs, reading(6.3, AWAY, person="ben"), reading(6.4, AWAY, person="ben"), at=AWAY)
    back = helper.hands_back(theirs, tmp_path / "back.zip")
    changed = rebuilt(back, lambda data: with_docs(data, lambda doc: doc | {"value": 8.8}))
    found = grower.looks_at(farm, changed)
    assert found.new == ()
    assert set(reasons(found)) == {"It, or a line beside it, is not as it was signed."}
    added = rebuilt(back, lambda data: data + another_line(data))
    assert [each.value for each in grower.looks_at(farm, added).new if each.value == 8.8] == []
    fewer = rebuilt(back, lambda data: data[: data.index(b"\n") + 1])
    assert set(reasons(grower.looks_at(farm, fewer))) == {"It, or a line beside it, is not as it was signed."}
    assert len(grower.looks_at(farm, back).new) == 2, "as it was it comes in"


def test_a_signature_taken_off_makes_nobody_the_grower(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path
) -> None:
    """Neither by a device that signs here, nor by a new one, nor by an old date on what is new."""
    with grower.at(farm) as session:
        grown, device = session.history.records()[0], session.history.device
    forged = [reading(9.9, HOME, person="ada"), void(grown.id, person="ada"), void(grown.id)]
    as_other = unsigned(tmp_path / "a" / "history", *forged)
    found = grower.looks_at(farm, as_other)
    assert (found.new, len(found.refused)) == ((), 3)
    as_theirs = unsigned(tmp_path / "b" / "history", *forged, device=device)
    found = grower.looks_at(farm, as_theirs)
    assert found.new == (), "this laptop knows what it wrote"
    helper.save(theirs, reading(6.3, AWAY, person="ben"), at=AWAY)
    grower.takes_in(farm, helper.hands_back(theirs, tmp_path / "back.zip"))
    with helper.at(theirs) as session:
        bens = session.history.device
    found = grower.looks_at(farm, unsigned(tmp_path / "c" / "history", reading(9.9, AWAY, person="ben"), device=bens))
    assert reasons(found) == [
        "The device that it names signs what it writes when a round is closed or a backup made, but not this."
    ]


def test_what_was_written_before_there_were_keys_comes_in_and_is_told(
    farm: Path, grower: Laptop, tmp_path: Path
) -> None:
    with grower.at(farm) as session:
        (grown, *_) = session.history.records()
    grower.bundled(farm, tmp_path / "b.zip")  # the farm has a key now
    old = unsigned(tmp_path / "old" / "history", reading(5.8, MORNING - timedelta(days=9), person="ada"),
                   reading(5.9, MORNING - timedelta(days=9), person="cem"), at=MORNING - timedelta(days=9))  # fmt: skip
    found = grower.looks_at(farm, old)
    assert len(found.new) == 2
    assert "Unsigned, and in the name of ada: 1 of the new ones." in found.sentences
    late = unsigned(tmp_path / "late" / "history", reading(5.8, HOME, person="ada"), device="d-late")
    found = grower.looks_at(farm, late)
    assert reasons(found) == ["It names ada, but is not signed."]
    taking = unsigned(tmp_path / "t" / "history", void(grown.id), at=MORNING - timedelta(days=9), device="d-taking")
    assert "is not theirs" in reasons(grower.looks_at(farm, taking))[0]


def test_a_key_that_was_revoked_brings_nothing_more_in_and_what_is_here_stays(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    helper.save(theirs, reading(6.3, AWAY, person="ben"), at=AWAY)
    grower.takes_in(farm, helper.hands_back(theirs, tmp_path / "half.zip"))
    (code,) = [each["code"] for each in grower.keys(farm, capsys)["keys"] if each["rank"] == "helper"]
    assert grower.says("keys", farm, "--revoke", code) == 0
    helper.save(theirs, reading(6.4, AWAY, person="ben"), at=AWAY)
    found = grower.takes_in(farm, helper.hands_back(theirs, tmp_path / "back.zip"))
    assert found.new == ()
    assert reasons(found) == [f"It is signed with the key {code}, which was revoked."]
    assert [each.value for each in grower.standing(farm)][-1] == 6.3
    taken = grower.takes_in(farm, tmp_path / "back.zip", take=[found.refused[0].id])
    assert [each.value for each in taken.new] == [6.4]


def test_a_bundle_that_was_made_anew_after_its_key_was_revoked_has_another_key(
    farm: Path, grower: Laptop, helper: Laptop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    grower.bundled(farm, tmp_path / "one.zip")
    (code,) = [each["code"] for each in grower.keys(farm, capsys)["keys"] if each["rank"] == "helper"]
    assert grower.says("keys", farm, "--revoke", code) == 0
    theirs = helper.opens(grower.bundled(farm, tmp_path / "two.zip"), tmp_path / "theirs")
    helper.save(theirs, reading(6.3, AWAY, person="ben"), at=AWAY)
    assert len(grower.looks_at(farm, helper.hands_back(theirs, tmp_path / "back.zip")).new) == 1


def test_a_helper_cannot_introduce_a_key_or_grant_one(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path
) -> None:
    """Statements that the helper's key signs, or nobody's, are worth nothing at the grower's door."""
    from rounds.trust.keys import kept_pair
    from rounds.trust.statements import Introduced, Mine, written

    other = new_pair()
    with helper.at(theirs, AWAY) as session:
        standing = standing_of(session.history)
        bens = kept_pair(standing.opened_with)
        assert bens is not None
        farm_id = min(standing.farm_ids)
        forged = signed(Introduced(farm=farm_id, key=bens.public, by=bens.public, at=AWAY), bens)
        also = signed(Introduced(farm=farm_id, key=other.public, by=bens.public, at=AWAY), bens)
        claimed = msgspec.structs.replace(forged, by=next(iter(standing.mine)))
        session.history.state([written(each) for each in (forged, also, claimed, Mine(key=bens.public, at=AWAY))])
    helper.save(theirs, reading(9.9, AWAY, person="ada"), at=AWAY)
    found = grower.takes_in(farm, helper.hands_back(theirs, tmp_path / "back.zip"))
    assert found.new == ()
    with grower.at(farm) as session:
        assert standing_of(session.history).rank(bens.public) == "helper"
        assert standing_of(session.history).rank(other.public) == "unknown"


def test_a_private_key_lies_in_no_farm_no_bundle_of_records_and_no_backup(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path
) -> None:
    helper.save(theirs, reading(6.3, AWAY, person="ben"), at=AWAY)
    back = helper.hands_back(theirs, tmp_path / "back.zip")
    assert grower.says("backup", farm, tmp_path / "stick") == 0
    own = json.loads((grower.state / "rounds" / "keys" / "own.json").read_text())["seed"]
    (kept,) = (helper.state / "rounds" / "keys").iterdir()
    bens = json.loads(kept.read_text())["seed"]
    assert all(path.stat().st_mode & 0o077 == 0 for path in kept.parent.iterdir())

    def there(folder: Path) -> bytes:
        return b"".join(path.read_bytes() for path in folder.rglob("*") if path.is_file() and path.name != "reserve")

    with zipfile.ZipFile(back) as archive:
        packed = b"".join(map(archive.read, archive.namelist()))
    with zipfile.ZipFile(tmp_path / "bundle.zip") as archive:
        handed = b"".join(map(archive.read, archive.namelist()))
    for data in (there(farm), there(theirs), there(tmp_path / "stick"), packed, handed):
        assert own.encode() not in data
        assert bytes.fromhex(own) not in data
    for data in (there(farm), there(theirs), there(tmp_path / "stick"), packed):
        assert bens.encode() not in data


def test_statements_that_cannot_be_read_state_nothing(farm: Path, grower: Laptop, tmp_path: Path) -> None:
    with grower.at(farm) as session:
        own = session.history.folder / session.history.device / STATEMENTS
    grower.bundled(farm, tmp_path / "b.zip")
    good = own.read_bytes()
    odd = [
        b"[]",
        b"5",
        b'{"say":"mine"}',
        b'{"say":"later","x":1}',
        b'{"say":"farm","id":5}',
        b'{"say":"mine","key":"x"}',
    ]
    own.write_bytes(good + b"".join(map(sealed, odd)) + b"cut off")
    found = grower.looks_at(farm, unsigned(tmp_path / "o" / "history", reading(6.0, person="ben")))
    assert len(found.new) == 1
    grower.bundled(farm, tmp_path / "b.zip", last=LAST + timedelta(days=1))
    assert own.read_bytes().startswith(good)
    assert grower.says("keys", farm) == 0


def test_what_the_grower_put_right_is_not_undone_by_what_comes_in_beside_it(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path
) -> None:
    """One folder brings the helper's reading, the grower's correction of it and the helper's answer to that."""
    (wrong,) = helper.save(theirs, reading(7.9, AWAY, person="ben"), at=AWAY)
    grower.bundled(farm, tmp_path / "b.zip")
    elsewhere = Path(shutil.copytree(farm, tmp_path / "elsewhere"))
    grower.takes_in(elsewhere, helper.hands_back(theirs, tmp_path / "half.zip"))
    grower.save(elsewhere, reading(6.2, AWAY, person="ada", replaces=wrong.id), at=HOME)
    with grower.at(elsewhere, HOME) as session:
        sign(session.history, HOME)
    helper.save(theirs, *(reading(8.8, AWAY, person="ben", replaces=wrong.id) for _ in range(9)), at=AWAY)
    with helper.at(theirs, AWAY) as session:
        sign(session.history, AWAY)
        device = session.history.device
    shutil.copytree(theirs / "history" / device, elsewhere / "history" / device, dirs_exist_ok=True)
    found = grower.takes_in(farm, elsewhere)
    assert set(reasons(found)) == {"It replaces or takes back what the grower has put right since."}
    assert [each.value for each in grower.standing(farm)] == [6.2, 6.1, 6.0, 6.2]


@pytest.mark.parametrize("name", ["ada", "Ada", " ADA ", "aDa"])
def test_the_grower_is_not_named_by_another_spelling(farm: Path, grower: Laptop, tmp_path: Path, name: str) -> None:
    grower.bundled(farm, tmp_path / "b.zip")
    found = grower.looks_at(farm, unsigned(tmp_path / "o" / "history", reading(9.9, HOME, person=name)))
    assert (found.new, len(found.refused)) == ((), 1)


def test_forged_claims_without_end_are_given_up_and_nothing_comes_in_by_them(
    farm: Path, grower: Laptop, helper: Laptop, theirs: Path, tmp_path: Path
) -> None:
    """Each signature costs 0.1 ms to try: two thousand of each kind in the grower's name would take a second."""
    helper.save(theirs, reading(9.9, AWAY, person="ada"), reading(6.3, AWAY, person="ben"), at=AWAY)
    with helper.at(theirs, AWAY) as session:
        standing = standing_of(session.history)
        grown, farm_id = next(iter(standing.mine)), min(standing.farm_ids)
        first = msgspec.json.encode(
            Taken(farm=farm_id, record="r", digest="0" * 64, by=grown, at=AWAY, signature="0" * 128)
        )
        many = [first.replace(b'"record":"r"', b'"record":"r%d"' % n) for n in range(2_000)]
        session.history.state(many)
    back = helper.hands_back(theirs, tmp_path / "back.zip")
    with grower.at(farm) as session:
        tried = Standing(read(session.history.statements()))
        tried.take_in(read(many))
    assert tried.failed == MOST_FAILED + 1
    assert [each.value for each in grower.looks_at(farm, back).new] == [6.3]


def test_a_bundle_of_old_make_may_add_and_never_names_the_grower(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, tmp_path: Path
) -> None:
    """An older version signs nothing; nor does whoever takes the signatures out, and no date makes it the grower's."""
    before = MORNING - timedelta(days=300)
    helper.save(theirs, reading(9.9, before, person="ada"), reading(6.3, AWAY, person="ben"), at=before)
    back = helper.hands_back(theirs, tmp_path / "back.zip")
    with zipfile.ZipFile(back) as archive:
        files = {name: archive.read(name) for name in archive.namelist() if not name.endswith(STATEMENTS)}
    with zipfile.ZipFile(back, "w") as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    found = grower.looks_at(farm, rebuilt(back, lambda data: data))
    assert [each.value for each in found.new] == [6.3]
    assert reasons(found) == ["It names ada, but is not signed."]


def test_a_helper_puts_right_on_one_laptop_what_they_wrote_on_another(
    farm: Path, theirs: Path, grower: Laptop, helper: Laptop, second: Laptop, tmp_path: Path
) -> None:
    """Both were opened from the same bundle, so it is the same key; and a third who has none is somebody else."""
    (wrong,) = helper.save(theirs, reading(7.9, AWAY, person="ben"), at=AWAY)
    grower.takes_in(farm, helper.hands_back(theirs, tmp_path / "one.zip"))
    also = second.opens(tmp_path / "bundle.zip", tmp_path / "also")
    second.save(also, reading(6.9, AWAY, person="ben", replaces=wrong.id), at=AWAY)
    nobodys = unsigned(tmp_path / "o" / "history", reading(8.8, AWAY, person="ben", replaces=wrong.id), at=AWAY)
    assert "is not theirs" in reasons(grower.looks_at(farm, nobodys))[0]
    found = grower.takes_in(farm, second.hands_back(also, tmp_path / "two.zip"))
    assert (len(found.new), found.refused) == (1, ())
    assert [each.value for each in grower.standing(farm)][-1] == 6.9


def test_a_month_of_forged_claims_is_given_up_and_its_lines_are_nobodys(tmp_path: Path) -> None:
    pair = new_pair()
    record = Record(id="r", format=1, device="d", seq=1, lamport=1, kind="note", measured_at=AWAY, entered_at=AWAY)
    line = msgspec.json.encode(record)
    sound = signed(
        Block(farm="f", device="d", month="2026-11", first=1, last=1, count=1, digest=digest_of([(1, line)]),
              by=pair.public, at=AWAY), pair)  # fmt: skip
    forged = [msgspec.structs.replace(sound, last=2 + n) for n in range(MOST_FAILED + 1)]
    for claims, signer in (([*forged[:9], sound], pair.public), ([*forged, sound], "")):
        coverage = Coverage(claims, frozenset({"f"}))
        coverage.see(record, line)
        coverage.settle()
        assert coverage.signer_of(record) == signer
    elsewhere = Coverage([sound], frozenset({"another farm"}))
    elsewhere.see(record, line)
    elsewhere.settle()
    assert elsewhere.signer_of(record) == ""


def test_a_farm_signs_since_its_first_key_whatever_is_said_later(farm: Path, grower: Laptop, tmp_path: Path) -> None:
    grower.bundled(farm, tmp_path / "b.zip")
    with grower.at(farm, HOME) as session:
        say_mine(session.history, HOME)
        assert standing_of(session.history).signs_since == MORNING
    found = grower.looks_at(farm, unsigned(tmp_path / "o" / "history", reading(9.9, AWAY, person="ada"), at=AWAY))
    assert reasons(found) == ["It names ada, but is not signed."]


def test_what_is_refused_is_told_with_its_value_and_unit(farm: Path, grower: Laptop, tmp_path: Path) -> None:
    grower.bundled(farm, tmp_path / "b.zip")
    poured = Draft(kind="dose", station="res-1", item="leaf-a", value=12.5, unit="mL", measured_at=HOME, person="ada")
    noted = Draft(kind="note", note="x", measured_at=HOME, person="ada")
    found = grower.looks_at(farm, unsigned(tmp_path / "o" / "history", poured, noted))
    assert {each.what for each in found.refused} == {
        "dose leaf-a 12.5 mL of res-1, 2026-11-29 06:00", "note, 2026-11-29 06:00",
    }  # fmt: skip
