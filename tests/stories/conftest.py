"""Stories are about what went wrong at once: what changes slowly is worked out from months, and not asked for here."""

from __future__ import annotations

import pytest

from rounds.walk import providers  # noqa: F401  # has registered what there is to ask
from rounds.walk.matters import REGISTRY


@pytest.fixture(autouse=True)
def nothing_changes_slowly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(REGISTRY, "slow", [])
