"""Standard output that is full, closed, gone or of few letters: what was saved is said, and nobody enters it twice."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from rounds.cli import main, output
from rounds.history.store import History

pytestmark = pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
PROGRAM = f'"{sys.executable}" -m rounds'
FULL, CLOSED, LEFT = "> /dev/full", ">&-", "| true"
SAYS = {FULL: "No space left on device", CLOSED: "it is closed"}
ENTER = "enter {farm} ch-1 'flow 1.1'"


def shell(farm: Path, command: str, **more: str) -> tuple[int, str, str]:
    """Run a command line of a shell; give exit code (of the command itself), output and error."""
    line = f"set -o pipefail; {PROGRAM} {command.format(farm=farm)}"
    done = subprocess.run(["bash", "-c", line], capture_output=True, text=True, env=os.environ | more, check=False)
    assert "Traceback" not in done.stderr, done.stderr
    return done.returncode, done.stdout, done.stderr


def flows(farm: Path) -> list[object]:
    with History.open(farm / "history", read_only=True) as history:
        return [each.value for each in history.records(item="flow")]


@pytest.mark.parametrize("form", ["", " --json"])
@pytest.mark.parametrize("where", [FULL, CLOSED])
def test_an_entry_whose_answer_cannot_be_written_is_said_to_be_saved(farm_folder: Path, where: str, form: str) -> None:
    code, _, told = shell(farm_folder, f"{ENTER}{form} {where}")
    assert told.startswith("The entry was saved: flow 1.1. It could not be shown here: ")
    assert SAYS[where] in told
    assert (code, flows(farm_folder)) == (0, [1.1])


@pytest.mark.parametrize("where", [FULL, CLOSED])
def test_what_is_only_read_and_cannot_be_written_is_refused_in_a_sentence(farm_folder: Path, where: str) -> None:
    code, _, told = shell(farm_folder, f"due {{farm}} {where}")
    assert (code, told.strip()) == (1, f"The answer could not be written: {SAYS[where]}.")


def test_whoever_stops_reading_is_told_nothing_but_what_was_saved(farm_folder: Path) -> None:
    code, _, told = shell(farm_folder, "history {farm} --all --json | head -c 0")
    assert (code, told) == (0, "")


def test_in_plain_ascii_the_entry_is_saved_once_and_the_letters_it_lacks_are_marked(farm_folder: Path) -> None:
    farm = farm_folder / "farm.toml"
    farm.write_text(farm.read_text(encoding="utf-8").replace("Ada", "Añé 水"), encoding="utf-8")
    code, shown, told = shell(farm_folder, ENTER, PYTHONIOENCODING="ascii")
    assert (code, flows(farm_folder)) == (0, [1.1])
    assert "Walking: A?? ?" in shown
    assert "question mark" in told and told.isascii()
    code, shown, told = shell(farm_folder, "enter {farm} ch-2 'flow 1.3' --json", PYTHONIOENCODING="ascii")
    assert (code, told) == (0, "")
    assert shown.isascii() and json.loads(shown)["person"]["name"] == "Añé 水"


def test_without_standard_input_nothing_is_asked_and_nothing_breaks(farm_folder: Path) -> None:
    code, shown, _ = shell(farm_folder, "<&-")
    assert (code == 1 and "no farm" in _.lower()) or shown
    code, _, told = shell(farm_folder, "{farm} <&-")
    assert (code, told) == (0, "")


class Broken:
    """A standard output that fails with an error of the system."""

    encoding = "utf-8"

    def __init__(self, error: Exception) -> None:
        self.error = error

    def isatty(self) -> bool:
        return False

    def write(self, text: str) -> int:
        raise self.error

    def flush(self) -> None:
        return


WRITING = [
    (["enter", "{farm}", "ch-1", "flow 1.1"], "The entry was saved: flow 1.1.", 0),
    (["enter", "{farm}", "ch-1", "flow 1.1 nonsense 5"], "The entry was saved: flow 1.1. Not saved:", 1),
    (["backup", "{farm}", "{farm}-stick"], "were copied to", 0),
    (["merge", "{farm}", "{other}", "--yes"], "1 records were taken in.", 0),
    (["relief", "{farm}", "--html", "{farm}.html", "--as", "ada"], "The sheet is in", 0),
    (["relief", "{other}", "--back", "{farm}.zip"], "What was written down here is in", 0),
]


@pytest.mark.parametrize(("words", "says", "ends"), WRITING, ids=lambda each: str(each)[:30])
@pytest.mark.parametrize("error", [BrokenPipeError(), OSError(5, "Input/output error")], ids=["left", "broken"])
def test_what_was_done_is_said_where_the_answer_of_a_verb_is_lost(
    farm_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
    words: list[str], says: str, ends: int, error: Exception,
) -> None:  # fmt: skip
    other = tmp_path / "other"
    other.mkdir()
    for name in ("farm.toml", "feeds.toml", "shelf.toml"):
        (other / name).write_bytes((farm_folder / name).read_bytes())
    assert main(["enter", str(other), "hens", "eggs 5"]) == 0
    capsys.readouterr()
    with monkeypatch.context() as patch:
        patch.setattr(sys, "stdout", Broken(error))
        code = main([word.format(farm=farm_folder, other=other) for word in words])
    told = capsys.readouterr().err
    assert says in told and "It could not be shown here: " in told
    assert code == ends


def test_whoever_left_is_told_nothing_where_nothing_was_done(
    farm_folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(sys, "stdout", Broken(BrokenPipeError()))
        assert main(["due", str(farm_folder)]) == 0
    assert capsys.readouterr().err == ""


def test_what_a_terminal_would_obey_is_not_printed_and_json_stays_json(capsys: pytest.CaptureFixture[str]) -> None:
    bad = "a\x1b]0;x\x07\x9b31m\u202eb\ud800"
    with output.speaking():
        print(bad)
        print(bad, file=sys.stderr)
        output.print_form(json.dumps({"a": bad, "ü": "水\U0001f331"}, ensure_ascii=False))
    said = capsys.readouterr()
    words, form = said.out.split("\n", 1)
    assert words == said.err.rstrip("\n") == "a\ufffd]0;x\ufffd\ufffd31m\ufffdb\ufffd"
    assert json.loads(form) == {"a": bad, "ü": "水\U0001f331"}
    assert all(letter == "\n" or letter.isprintable() for letter in form)
