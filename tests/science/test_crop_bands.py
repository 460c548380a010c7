"""Bands of crops against the sources they name, and the one band of a shared reservoir."""

from __future__ import annotations

import pytest

from rounds.science.crop_bands import BANDS, USUAL_PH, band_of, fussiest


@pytest.mark.parametrize(
    ("crop", "young", "ec"),
    [
        ("lettuce", False, (1.5, 1.8)),  # UF/IFAS AE610; Cornell CEA lettuce handbook: read
        ("lettuce", True, (0.8, 1.2)),  # practice
        ("cucumber", False, (1.7, 2.0)),  # Oklahoma State HLA-6442: memory
    ],
)
def test_a_band_is_that_of_its_source(crop, young, ec):
    assert band_of(crop, young=young).ec == ec


def test_strawberries_take_1_0_at_most():
    # Univ. of Arizona; Ohio State (Kubota): 1.0 or less, flushed when the root zone passes 1.2. Read.
    assert band_of("strawberry").ec[1] == 1.0


def test_every_row_says_where_it_comes_from_and_is_a_band():
    for row in BANDS:
        assert row.source and row.ec[0] < row.ec[1] and row.ph[0] < row.ph[1]
    assert USUAL_PH == (5.6, 6.2)


def test_a_shared_reservoir_has_the_band_of_its_fussiest_plant():
    assert fussiest(["basil", "strawberry", "tomato"]).crop == "strawberry"
    assert fussiest(["kale"]) is None
