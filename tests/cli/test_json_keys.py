"""The keys of every verb's JSON stand in its own --help: none is missing there, and none is promised in vain."""

from __future__ import annotations

import argparse
import importlib
import json
import re
import shlex
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.cli import VERBS, main
from rounds.cli.sample import scratch_sample
from rounds.history.record import Draft
from rounds.history.store import History
from rounds.walk.round import start_round
from rounds.walk.session import Session

LATER_FIELDS = Path(__file__).parent.parent / "history" / "formats" / "format_1_with_later_fields"
NEWER_FORMAT = Path(__file__).parent.parent / "history" / "formats" / "format_2"
LINE = '"ph 6.9 ec 1.3 t 21 dip 31"'
CHANNEL = (
    "--length 4.2m --section 120x60mm --slope 1:40 --spacing 250mm --hole 50mm --first-site 150mm "
    "--outlet-clearance 80mm --flow 1.2L/min --supports 4"
)
BUILT = "--built-levels 905,870,836,800mm --jug 1L/52s"
CASES = {
    ("due", "--json"): ["due {small}"],
    ("matters", "--json"): ["matters {sample}", "matters {small} --settle left-out:hens --later 2", "matters {small}"],
    ("card", "--json"): ["card {small}"],
    ("enter", "--json"): ['enter {small} res-1 "ph 6.0 ec x"', 'enter {small} res-1 "ph 7.6"'],
    ("change", "--json"): ["change {sample} --plot", "change {sample}"],
    ("correct", "--json"): [
        f"correct {{small}} res-1 {LINE}",
        f"correct {{small}} res-1 {LINE} --as ben",
        'correct {small} res-1 "ph 11.5 ec 1.9"',
        'correct {untouched} res-1 "ph 7.0 ec 4.9 t 20 dip 36"',
    ],
    ("history", "--json"): ["history {small} --all", "history {later} --since 2000-01-01", "history {sample}"],
    ("history", "--json --import"): ["history {small} --import {paper} --mapping {mapping}"],
    ("check", "--json"): ["check {small}"],
    ("backup", "--json"): ["backup {small} {tmp}/stick"],
    ("merge", "--json"): ["merge {small} {newer}"],
    ("keys", "--json"): ["keys {small} --mine", "keys {small}"],
    ("relief", "--json"): ["relief {sample} --for helper", "relief {small}"],
    ("relief", "--json --plan"): ["relief {sample} --plan"],
    ("relief", "--json --report"): ["relief {small} --report"],
    ("relief", "--json --back"): ["relief {theirs} --back {tmp}/back.zip"],
    ("open", "--json"): ["open {bundle} {tmp}/new", "open {bundle} --preview"],
    ("measure", "--json"): ["measure {small}", "measure {sample} titration"],
    ("mix", "--json"): ["mix {sample} top-up reservoir-1"],
    ("mix working", "--json"): ["mix {sample} working nitric-bottle"],
    ("mix concentrate", "--json"): ["mix {small} concentrate leaf"],
    ("mix top-up", "--json"): ["mix {sample} top-up reservoir-1"],
    ("mix change-out", "--json"): ["mix {small} change-out res-1"],
    ("markout", "--json"): [
        f"markout {CHANNEL}",
        f"markout {CHANNEL} {BUILT} --into {{small}} --id new --name New --reservoir res-1",
    ],
}
_HEAD = re.compile(r"the answer with (--json.*):")
_KEYS = re.compile(r"( +)(\[?\w+\]?(?:, \[?\w+\]?)*)(?: {2,}\S.*)?")


@dataclass
class Key:
    """A key as the help names it."""

    always: bool = True
    within: dict[str, Key] = field(default_factory=dict)
    seen: bool = False


def parsers() -> Iterator[tuple[str, argparse.ArgumentParser]]:
    """Every verb, and every sheet of a verb that has several, with its words."""
    for verb in VERBS:
        verbs = argparse.ArgumentParser(prog="rounds").add_subparsers()
        importlib.import_module(f"rounds.cli.{verb}").add(verbs)
        parser = verbs.choices[verb]
        yield verb, parser
        for action in parser._actions:
            if isinstance(action, argparse._SubParsersAction):
                yield from ((f"{verb} {word}", each) for word, each in action.choices.items())


def answers_told(text: str) -> dict[str, dict[str, Key]]:
    """The keys that a help names, by the options that ask for them."""
    found: dict[str, dict[str, Key]] = {}
    levels: list[tuple[int, dict[str, Key]]] = []
    for line in text.splitlines():
        if head := _HEAD.fullmatch(line):
            levels = [(0, found.setdefault(head[1], {}))]
        elif not line:
            levels = []
        elif levels and (keys := _KEYS.fullmatch(line)):
            levels = [each for each in levels if each[0] < len(keys[1])]
            within: dict[str, Key] = {}
            for key in keys[2].split(", "):
                levels[-1][1][key.strip("[]")] = Key(always=not key.startswith("["), within=within)
            levels.append((len(keys[1]), within))
    return found


def wrong(form: Any, told: dict[str, Key], path: str = "", depth: int = 0) -> Iterator[str]:
    """What an answer has and the help does not name, down to the objects one level down; what it promised in vain."""
    if isinstance(form, list):
        for each in form:
            yield from wrong(each, told, path, depth)
    elif isinstance(form, dict) and (told or depth < 2):
        yield from (f"{path}{name} is not in the help" for name in form if name not in told)
        yield from (f"{path}{name} is not in the answer" for name in told if told[name].always and name not in form)
        for name in form.keys() & told.keys():
            told[name].seen = True
            yield from wrong(form[name], told[name].within, f"{path}{name}.", depth + 1)


def never_seen(told: dict[str, Key], path: str = "") -> Iterator[str]:
    for name, key in told.items():
        if not key.seen:
            yield f"{path}{name}"
        yield from never_seen(key.within, f"{path}{name}.")


@pytest.fixture(scope="module")
def sample() -> Iterator[Path]:
    """Four months of an invented farm."""
    folder = scratch_sample()
    yield folder
    shutil.rmtree(folder.parent)


@pytest.fixture(scope="module")
def laid_out(tmp_path_factory: pytest.TempPathFactory, lay_out_farm: Callable[[Path], Path]) -> Path:
    """A small farm on which something of everything is left open, and what the verbs read beside it; kept as it is."""
    folder = tmp_path_factory.mktemp("places")
    small, later = lay_out_farm(folder / "small"), lay_out_farm(folder / "later")
    shutil.copytree(LATER_FIELDS, later / "history")
    shutil.copytree(NEWER_FORMAT, folder / "newer")
    lay_out_farm(folder / "untouched")
    leave_open(small)
    (folder / "paper.csv").write_text("Date,pH\n2026-01-05,6.1\n2026-01-06,9.9\n2026-01-07,99\n", encoding="utf-8")
    (folder / "mapping.toml").write_text(
        'time = ["Date"]\ntime_format = "%Y-%m-%d"\n[[columns]]\nheading = "pH"\nstation = "res-1"\nitem = "ph"\n',
        encoding="utf-8",
    )
    assert main(["relief", str(small), "--bundle", str(folder / "bundle.zip")]) == 0
    return folder


@pytest.fixture
def places(sample: Path, laid_out: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Path]:
    """What the verbs read and write, by name; what a helper opened is no copy, since a copy hands nothing back."""
    shutil.copytree(laid_out, tmp_path, dirs_exist_ok=True)
    assert main(["open", str(tmp_path / "bundle.zip"), str(tmp_path / "theirs")]) == 0
    assert main(["enter", str(tmp_path / "theirs"), "res-1", "ph 6.1"]) == 0
    capsys.readouterr()
    return {
        "sample": sample, "small": tmp_path / "small", "later": tmp_path / "later", "newer": tmp_path / "newer",
        "tmp": tmp_path, "paper": tmp_path / "paper.csv", "mapping": tmp_path / "mapping.toml",
        "bundle": tmp_path / "bundle.zip", "theirs": tmp_path / "theirs", "untouched": tmp_path / "untouched",
    }  # fmt: skip


def leave_open(farm: Path) -> None:
    """A round that nobody closed, a station left out, A without B, a remark, and an entry taken back."""
    now = datetime.now(UTC)
    session = Session.open(farm, clock=lambda: now - timedelta(days=2))
    start_round(session, "dusk")
    session.history.close()
    a_alone = {"action": "concentrate_a"}
    with History.open(farm / "history") as history:
        history.save(Draft(kind="skip", station="hens", measured_at=now - timedelta(hours=2), note="dog"))
        history.save(
            Draft(
                kind="dose", station="res-1", item="leaf-a", value=200.0, unit="mL", data=a_alone,
                measured_at=now - timedelta(hours=1),
            )
        )  # fmt: skip
        (note,) = history.save(Draft(kind="note", note="cold", marks=("odd",), measured_at=now - timedelta(hours=1)))
        history.save(Draft(kind="note", replaces=note.id, void=True, measured_at=now))


def test_every_answer_that_a_help_promises_is_tried_here() -> None:
    told = {
        (words, asked)
        for words, parser in parsers()
        if "--json" in parser._option_string_actions
        for asked in answers_told(parser.format_help()) or ("no keys",)
    }
    assert told == set(CASES)


@pytest.mark.parametrize(("words", "asked"), CASES, ids=lambda word: word.replace("--json", "").strip() or "json")
def test_the_help_names_every_key_of_the_answer_and_promises_none_in_vain(
    places: dict[str, Path], capsys: pytest.CaptureFixture[str], words: str, asked: str
) -> None:
    told = answers_told(dict(parsers())[words].format_help())[asked]
    found: set[str] = set()
    for command in CASES[words, asked]:
        main([*shlex.split(command.format(**places)), "--json"])
        found.update(wrong(json.loads(capsys.readouterr().out), told))
    assert sorted(found) == []
    assert list(never_seen(told)) == []


def test_the_keys_can_be_read_on_a_narrow_terminal() -> None:
    for words, parser in parsers():
        told = (parser.epilog or "").partition("the answer with")[2]
        assert max(map(len, told.splitlines()), default=0) < 80, words


def test_the_bare_command_has_the_keys_of_due_and_says_so(
    places: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    forms = []
    for words in ([], ["due"]):
        main([*words, str(places["small"]), "--json"])
        forms.append(json.loads(capsys.readouterr().out))
    assert forms[0].keys() == forms[1].keys()
    assert main(["--help"]) == 0
    assert "the JSON of `rounds due`" in " ".join(capsys.readouterr().out.split())
