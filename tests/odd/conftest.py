"""The farm that odd records are put into: laid out once, copied for each test."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.once import style_sheets_are_parsed_once  # noqa: F401  # this is a fixture

sys.path.insert(0, str(Path(__file__).parent / "support"))

import odd_records


@pytest.fixture(scope="session")
def laid_out(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Path:
    """A farm with some days of true records."""
    folder = tmp_path_factory.mktemp("odd") / "farm"
    folder.mkdir()
    texts = next(each for each in sys.modules.values() if hasattr(each, "FEEDS") and hasattr(each, "StoppedClock"))
    for name, text in (("farm.toml", texts.FARM), ("feeds.toml", texts.FEEDS), ("shelf.toml", texts.SHELF)):
        (folder / name).write_text(text, encoding="utf-8")
    odd_records.lay_out(folder, datetime.now(UTC).astimezone())
    return folder


@pytest.fixture(scope="session")
def true_docs(laid_out: Path) -> list[dict[str, Any]]:
    """The newest true record of each sort on that farm."""
    return odd_records.true_docs(laid_out)


@pytest.fixture
def farm(laid_out: Path, tmp_path: Path) -> Path:
    """A copy of that farm."""
    return Path(shutil.copytree(laid_out, tmp_path / "farm"))


@pytest.fixture
def odd(farm: Path, true_docs: list[dict[str, Any]]) -> Callable[..., Path]:
    """Put a record of another device into the farm: a true one of a kind, with some fields as told."""

    def put(kind: str, /, *, like: str | None = None, **fields: Any) -> Path:
        doc = next(d for d in reversed(true_docs) if d["kind"] == kind and like in (None, d.get("item")))
        changed = {
            **doc,
            **fields,
            "data": {**doc.get("data", {}), **fields["data"]}
            if isinstance(fields.get("data"), dict)
            else fields.get("data", doc.get("data", {})),
        }
        return odd_records.write(farm, [{**changed, "_true": doc}], datetime.now(UTC).astimezone())

    return put
