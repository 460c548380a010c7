"""The three files of the farm, as a grower who believes what he was told writes them."""

from __future__ import annotations

from datetime import datetime, timedelta

from tests.advice.judged.second.drawn import SALTS_A, SALTS_B, Analysis, Bottle, Drawn

_MG_MMOL = {"ca": ("Ca", 40.08), "mg": ("Mg", 24.31), "na": ("Na", 22.99), "cl": ("Cl", 35.45),
            "so4": ("S(6)", 96.06), "no3": ("Nit", 62.00)}  # fmt: skip
BOTTLE_L = 30.0
ML_PER_L = 10.0


def files_of(d: Drawn, ec_band: tuple[float, float], ec_of_water: float, now: datetime) -> dict[str, str]:
    """farm.toml, feeds.toml and shelf.toml."""
    day = (now - timedelta(days=40)).date().isoformat()
    return {
        "farm.toml": _farm(d, ec_of_water, day),
        "feeds.toml": _FEEDS.format(low=ec_band[0], high=ec_band[1], ml=ML_PER_L),
        "shelf.toml": _shelf(d, day),
    }


def _farm(d: Drawn, ec_of_water: float, day: str) -> str:
    length_cm = 10.0 * (1.6 * d.area_dm2_told) ** 0.5
    return _FARM.format(
        tolerance=d.tolerance_told, water=_water(d.told_water, ec_of_water, day),
        full=round(1.2 * d.working_l_told + d.channels_l_told), working=d.working_l_told, pump=d.pump_told,
        length=round(length_cm, 1), width=round(100.0 * d.area_dm2_told / length_cm, 1),
        aerate=str(d.aerated).lower(), pipes=round(0.15 * d.channels_l_told, 1),
        holds=round(0.6 * d.channels_l_told, 1), roots=round(0.25 * d.channels_l_told, 1),
    )  # fmt: skip


def _water(water: Analysis, ec: float, day: str) -> str:
    ions = "\n".join(f"{name}_mg_l = {water.totals[e] * mass:.1f}" for name, (e, mass) in _MG_MMOL.items())
    return (
        f'[[waters]]\nid = "tap"\nname = "Tap water"\nanalysed_on = {day}\nph = {water.ph}\nec_ms_cm = {ec:.2f}\n'
        f"alkalinity_meq_l = {water.alkalinity_meq_l:.2f}\n{ions}\n"
    )


def _shelf(d: Drawn, day: str) -> str:
    parts = (("a", "A", SALTS_A), ("b", "B", SALTS_B))
    text = "format = 1\n"
    for name, part, salts in parts:
        grams = ", ".join(f"{salt} = {value}" for salt, value in salts.items())
        text += (
            f'\n[[products]]\nkind = "concentrate"\nid = "{name}"\nname = "Concentrate {part}"\npart = "{part}"\n'
            f'amount = {10.0 * BOTTLE_L}\nunit = "L"\ncounted_on = {day}\nsalts_g_l = {{ {grams} }}\n'
        )
    return text + _bottle(d.acid, "acid", day) + _bottle(d.base, "base", day)


def _bottle(bottle: Bottle, kind: str, day: str) -> str:
    if bottle.by_molarity:
        strength = f"molarity_mol_l = {bottle.label_mol_l * bottle.entered_times:.3f}"
    else:
        strength = f"percent = {bottle.percent * bottle.entered_times:g}\ndensity_kg_l = {bottle.density_kg_l}"
    return (
        f'\n[[products]]\nkind = "{kind}"\nid = "{kind}"\nname = "Working {kind}"\nagent = "{bottle.agent}"\n'
        f'working = true\namount = {BOTTLE_L}\nunit = "L"\ncounted_on = {day}\n{strength}\n'
    )


_FARM = """
format = 1
name = "A farm that is judged"

[place]
latitude = 47.0
longitude = 8.0

[[people]]
id = "grower"
name = "The grower"

[[meters]]
id = "pen"
name = "pH pen"
measures = ["ph", "buffer"]
tolerance = {{ ph = {tolerance} }}

[[meters]]
id = "stick"
name = "EC stick"
measures = ["ec", "t"]
tolerance = {{ ec = 0.05, t = 0.5 }}

{water}
[[stations]]
kind = "reservoir"
id = "r"
name = "Reservoir"
full_volume_l = {full}
working_volume_l = {working}
shape = {{ form = "box", length_cm = {length}, width_cm = {width} }}
feed = "feed"
stage = "growing"
waters = ["tap"]
pump_l_min = {pump}
pipes_l = {pipes}
returns_aerate = {aerate}

[[stations]]
kind = "channel"
id = "c"
name = "Channel"
reservoir = "r"
crop = "lettuce"
sites = 40
flow_l_min = 1.0
holds_l = {holds}
roots_l = {roots}
"""
_FEEDS = """
format = 1

[[feeds]]
id = "feed"
name = "Feed"
part_a = "a"
part_b = "b"
a_ml_per_l = {ml}
b_ml_per_l = {ml}

[[feeds.stages]]
id = "growing"
ec = [{low:.2f}, {high:.2f}]
ph = [5.5, 6.1]
"""
