"""The tool that draws deliberate faults, on a toy package: what it changes, what it leaves alone, what it tells."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

from tests.mutants.__main__ import main
from tests.mutants.covering import rooms_that_use
from tests.mutants.faults import drawn

SHED = '''"""What a can holds: 3 of 4."""

def dose_ml(missing_ml: float, most_ml: float) -> float:
    """At most 5 mL."""
    return min(missing_ml, most_ml)
'''
TEST = """from rounds.shed.can import dose_ml

def test_something_is_poured():
    assert dose_ml(5.0, 9.0) > 0.0
"""
KINDS = {
    "x = a < 3": "x = a > 3", "x = a - b": "x = a + b", "x = a * b": "x = a / b", "x = a and b": "x = a or b",
    "x = not a": "x = a", "if a:\n    x = b": "if not a:\n    x = b", "x = 7": "x = 14", "file.fsync()": "pass",
    "x = a[1:]": "x = a[1 + 1:]", "def f() -> list:\n    return a": "def f() -> list:\n    return []",
    "x = pour(now_l, gone_l)": "x = pour(gone_l, now_l)", "x = max(a, b)": "x = min(a, b)",
    "def f() -> bool:\n    return a": "def f() -> bool:\n    return not a",
}  # fmt: skip
LEFT_ALONE = '''"""Some 3 words."""
from math import pi
__all__ = ["pi"[0:1]]
x: "Only[3]"
def f(a: One[2]) -> Other[4]:
    """And 5 more."""
    raise BadInput(f"{a + 1} is not 6.", 7)
'''


OF_ANOTHER_SYSTEM = f"""
if sys.platform == "{sys.platform}":
    pass
else:
    w = 5
if sys.platform == "elsewhere":
    x = 1
if os.name == "elsewhere":
    y = 2
z = getattr(os, "sep", 3)
for a, b in zip(c, d, strict=True):
    pass
"""


@pytest.fixture
def toy(tmp_path: Path) -> Path:
    top = tmp_path / "toy"
    for path, text in (
        ("rounds/__init__.py", ""), ("rounds/shed/__init__.py", ""), ("rounds/shed/can.py", SHED),
        ("rounds/barn/__init__.py", "from rounds.shed.can import dose_ml\n"), ("rounds/house/__init__.py", ""),
        ("tests/shed/test_can.py", TEST), ("tests/barn/test_barn.py", ""),
        ("pyproject.toml", "[tool.pytest.ini_options]\naddopts = '-p no:hypothesispytest -p no:asyncio'\n"),
    ):  # fmt: skip
        (top / path).parent.mkdir(parents=True, exist_ok=True)
        (top / path).write_text(text, encoding="utf-8")
    return top


def test_a_fault_that_no_test_notices_is_told_and_the_checkout_stays_as_it_was(
    toy: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code = main(["--room", "shed", "--n", "9", "--top", str(toy), "--kept", str(tmp_path / "kept")])
    told = capsys.readouterr().out
    assert "can.py:5: min(missing_ml, most_ml) -> max(missing_ml, most_ml): LIVED (tests: 1)" in told
    noticed = "tests/shed/test_can.py::test_something_is_poured"
    assert f"return min(missing_ml, most_ml) -> return 0.0: caught by {noticed}" in told
    assert told.endswith("2 drawn, 1 caught, 1 lived\n")
    assert code == 0
    assert (toy / "rounds" / "shed" / "can.py").read_text(encoding="utf-8") == SHED


@pytest.mark.parametrize(("sound", "faulty"), KINDS.items())
def test_every_kind_of_fault_is_drawn(tmp_path: Path, sound: str, faulty: str) -> None:
    (tmp_path / "m.py").write_text(sound, encoding="utf-8")
    found = {fault.source for seed in range(40) for fault in drawn(tmp_path, ["m.py"], 9, seed)}
    assert ast.unparse(ast.parse(faulty)) in found
    assert ast.unparse(ast.parse(sound)) not in found


def test_docstrings_messages_type_hints_and_imports_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "m.py").write_text(LEFT_ALONE, encoding="utf-8")
    assert drawn(tmp_path, ["m.py"], 99, 1) == []


def test_what_this_system_never_does_and_guards_against_mistakes_in_code_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "m.py").write_text(OF_ANOTHER_SYSTEM, encoding="utf-8")
    left = {fault.old.removeprefix("not ") for seed in range(9) for fault in drawn(tmp_path, ["m.py"], 99, seed)}
    assert left == {f"sys.platform == '{sys.platform}'"}


@pytest.mark.parametrize(
    ("sound", "faulty"),
    {
        f'if sys.platform == "{sys.platform}":\n    x = 7': f'if sys.platform == "{sys.platform}":\n    x = 14',
        'if sys.platform == "elsewhere":\n    x = 7\nelse:\n    x = 9':
        'if sys.platform == "elsewhere":\n    x = 7\nelse:\n    x = 18',
        'x = getattr(os, "not there", 7)': 'x = getattr(os, "not there", 14)', "zip(a, strict=False)": "pass",
    }.items(),
)  # fmt: skip
def test_what_this_system_does_is_drawn(tmp_path: Path, sound: str, faulty: str) -> None:
    (tmp_path / "m.py").write_text(sound, encoding="utf-8")
    found = {fault.source for seed in range(40) for fault in drawn(tmp_path, ["m.py"], 9, seed)}
    assert ast.unparse(ast.parse(faulty)) in found


def test_the_same_seed_draws_the_same_faults(toy: Path) -> None:
    assert drawn(toy, ["rounds/shed/can.py"], 1, 5) == drawn(toy, ["rounds/shed/can.py"], 1, 5)


def test_the_rooms_that_use_a_room_come_after_it(toy: Path) -> None:
    assert rooms_that_use(toy, "shed") == ["shed", "barn"]
