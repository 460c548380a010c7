"""The room itself: what it imports, that its examples run, and that every parameter has its unit."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys

import pytest

import rounds.science

MODULES = sorted(m.name for m in pkgutil.iter_modules(rounds.science.__path__, "rounds.science."))


def test_the_room_imports_the_standard_library_and_the_errors_alone():
    code = (
        "import importlib, sys\n"
        "before = set(sys.modules)\n"
        f"[importlib.import_module(name) for name in {MODULES!r}]\n"
        "print(' '.join(sorted(set(sys.modules) - before)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = run.stdout.split()
    outside = {name.split(".")[0] for name in loaded} - set(sys.stdlib_module_names) - {"rounds"}
    assert not outside
    assert {name for name in loaded if name.startswith("rounds.")} - set(MODULES) == {"rounds.errors", "rounds.science"}


@pytest.mark.parametrize("name", MODULES)
def test_every_example_runs(name):
    outcome = doctest.testmod(importlib.import_module(name))
    assert outcome.failed == 0


def parameters_without_unit(function) -> list[str]:
    """Numbers in the Parameters section whose description ends without a unit in square brackets."""
    lines = inspect.cleandoc(function.__doc__ or "").splitlines()
    if "Parameters" not in lines:
        return []
    body = lines[lines.index("Parameters") + 2 :]
    missing, name, text = [], "", ""
    for line in [*body, "end"]:
        if line and not line.startswith(" "):
            if name and not re.search(r"\[[^\]]+\]", text):
                missing.append(name)
            match = re.match(r"^([\w, ]+) : (?:float|int)\b", line)
            name, text = (match.group(1), "") if match else ("", "")
        else:
            text += " " + line
        if line in ("Returns", "Raises", "Examples", "References"):
            break
    return missing


@pytest.mark.parametrize("name", MODULES)
def test_every_number_that_goes_in_has_its_unit(name):
    module = importlib.import_module(name)
    functions = [f for _, f in inspect.getmembers(module, inspect.isfunction) if f.__module__ == name]
    public = [f for f in functions if not f.__name__.startswith("_")]
    assert {f.__name__: parameters_without_unit(f) for f in public if parameters_without_unit(f)} == {}


@pytest.mark.parametrize("name", MODULES)
def test_every_public_function_says_what_it_does(name):
    module = importlib.import_module(name)
    functions = [f for _, f in inspect.getmembers(module, inspect.isfunction) if f.__module__ == name]
    assert [f.__name__ for f in functions if not f.__name__.startswith("_") and not f.__doc__] == []
