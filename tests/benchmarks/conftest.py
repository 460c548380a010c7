"""Figures are those of the whole work: nothing is kept from one time to the next."""

from __future__ import annotations

import pytest


@pytest.fixture(scope="session", autouse=True)
def toml_is_read_once() -> None:
    """Here each text is read each time."""
