"""What crops want of a channel. All of it is common practice, from memory: the grower's own figures come first."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class CropNeeds:
    """Room for leaves, water and weight of one crop."""

    spacing_mm: float
    """Usual distance of sites. [mm]"""
    closest_mm: float
    """Closest that still gives a full plant. [mm]"""
    per_plant_l: float
    """Reservoir for each plant. [L]"""
    plant_kg: float
    """Weight that one plant puts on the channel at harvest. [kg]"""
    long_crop: bool
    """Stands for months, with roots that reach the outlet."""


CROPS: dict[str, CropNeeds] = {
    "lettuce": CropNeeds(spacing_mm=200, closest_mm=180, per_plant_l=2, plant_kg=0.35, long_crop=False),
    "basil": CropNeeds(spacing_mm=200, closest_mm=150, per_plant_l=2, plant_kg=0.3, long_crop=False),
    "herbs": CropNeeds(spacing_mm=150, closest_mm=120, per_plant_l=1.5, plant_kg=0.2, long_crop=False),
    "spinach": CropNeeds(spacing_mm=125, closest_mm=100, per_plant_l=1.5, plant_kg=0.2, long_crop=False),
    "pak choi": CropNeeds(spacing_mm=200, closest_mm=150, per_plant_l=2, plant_kg=0.4, long_crop=False),
    "strawberry": CropNeeds(spacing_mm=250, closest_mm=200, per_plant_l=3, plant_kg=0.5, long_crop=True),
    "bean": CropNeeds(spacing_mm=200, closest_mm=180, per_plant_l=4, plant_kg=0.8, long_crop=True),
    "pepper": CropNeeds(spacing_mm=400, closest_mm=350, per_plant_l=8, plant_kg=1.5, long_crop=True),
    "tomato": CropNeeds(spacing_mm=450, closest_mm=400, per_plant_l=10, plant_kg=2.0, long_crop=True),
    "cucumber": CropNeeds(spacing_mm=450, closest_mm=400, per_plant_l=10, plant_kg=2.0, long_crop=True),
}
ANY_CROP = CropNeeds(spacing_mm=200, closest_mm=0, per_plant_l=3, plant_kg=0.5, long_crop=False)
POT_RIM_MM = 5.0
"""A pot hangs by its rim: the hole is this much narrower than the pot (50 mm pot, 45 mm hole)."""


def needs_of(crop: str | None) -> CropNeeds:
    """What is known of a crop; middling figures where none is named."""
    return CROPS.get((crop or "").strip().lower(), ANY_CROP)
