"""The second make with less told of it: a feed by its label alone, and a water by strip and pen.

The truth is that of the second make; only the files differ. Labels are worked out from the elements of the salts, and
half of the growers say neither what P and K stand for nor whether the percent is by volume.
"""

from __future__ import annotations

import random
import re

from tests.advice.judged.second.drawn import SALTS_A, SALTS_B, concentrate
from tests.advice.judged.second.reservoir import Second

_OXIDE = {"n": 14.007e-4, "p": 30.974e-4 * 2.2914, "k": 39.098e-4 * 1.2046}
"""Percent by volume, as N, P2O5 and K2O, of a mmol in a litre."""
PADS_DH = (0.0, 3.0, 6.0, 10.0, 15.0, 20.0)
"""Of a strip for carbonate hardness. [German degrees]"""
_MEQ_DH = 0.3566


class Labelled(Second):
    """Its feed is known by the label of two bottles."""

    def farm_files(self) -> dict[str, str]:
        files = super().farm_files()
        rng = random.Random(f"label {self.seed}")
        says_all = rng.random() < 0.5
        for salts in (SALTS_A, SALTS_B):
            files["shelf.toml"] = re.sub(
                r"salts_g_l = \{[^}]*" + str(next(iter(salts.values()))) + r"[^}]*\}",
                f"label = {_label(salts, says_all)}", files["shelf.toml"], count=1,
            )  # fmt: skip
        return {name: text.replace("format = 1", "format = 2", 1) for name, text in files.items()}


class LabelledStrip(Labelled):
    """Its water is known by a strip and a pen, too."""

    def farm_files(self) -> dict[str, str]:
        files = super().farm_files()
        rng = random.Random(f"strip {self.seed}")
        truth_dh = self.drawn.true_water.alkalinity_meq_l / _MEQ_DH
        pad = min(range(len(PADS_DH)), key=lambda n: abs(PADS_DH[n] - truth_dh))
        pad = min(max(pad + rng.choice((-1, 0, 0, 0, 1)), 0), len(PADS_DH) - 1)
        below = PADS_DH[pad] - PADS_DH[pad - 1] if pad > 0 else PADS_DH[1]
        told = f'alkalinity = {{ value = {PADS_DH[pad]}, unit = "dH", by = "strip", pad = {below} }}\n'
        start = files["farm.toml"].index("analysed_on")
        end = files["farm.toml"].index("[[stations]]")
        ec = re.search(r"ec_ms_cm = [\d.]+\n", files["farm.toml"])
        kept = ec.group() if ec else ""
        files["farm.toml"] = f"{files['farm.toml'][:start]}{kept}{told}\n{files['farm.toml'][end:]}"
        return files


def _label(salts_g_l: dict[str, float], says_all: bool) -> str:
    totals = concentrate(salts_g_l)
    mmol = {"n": totals.get("Nit", 0.0) + totals.get("Amm", 0.0), "p": totals.get("P", 0.0), "k": totals.get("K", 0.0)}
    npk = ", ".join(f"{_OXIDE[name] * mmol[name]:.1f}" for name in ("n", "p", "k"))
    said = ', by = "volume", p_and_k = "oxides"' if says_all else ""
    return f"{{ npk = [{npk}]{said} }}"
