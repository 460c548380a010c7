"""What happens on the sample farm, and when: in days before the morning on which it opens. All of it is invented."""

from __future__ import annotations

from collections.abc import Mapping

HOT_WEEK = range(93, 100)
STORM = 70
HEN_LOST = 61
HELPER = range(53, 56)
IN_BED = 45
WRONG_ENTRY = 33
COUNTED = 5
DELIVERED = (96, 66, 36)
CASK_FILLED = 36
GENERATOR_TESTS = (93, 63, 33)
"""The next one would have been due three days ago."""
CHANGE_OUTS: Mapping[str, tuple[int, ...]] = {
    "reservoir-1": (110, 89, 68, 47, 26, 9),
    "reservoir-2": (105, 84, 63, 42, 21, 7),
    "reservoir-3": (100, 72, 41, 13),
}
FILLED_UP: Mapping[str, tuple[int, ...]] = {"reservoir-1": (5,), "reservoir-2": (1,), "reservoir-3": (1,)}
"""Filled up before it is needed, so that little is wanted there on the morning the sample opens."""
ACID = {"reservoir-1": "nitric-working", "reservoir-2": "nitric-working", "reservoir-3": "phosphoric-working"}
BASE = "carbonate-working"
DRIFT = {"reservoir-1": 0.07, "reservoir-2": 0.09, "reservoir-3": -0.03}
"""What the plants do to the pH in a day."""
LAST_DAYS: Mapping[str, Mapping[int, float]] = {
    "reservoir-1": {6: 5.96, 5: 6.0, 4: 6.04, 3: 6.08, 2: 6.11, 1: 6.15, 0: 6.36},
    "reservoir-2": {2: 5.98, 1: 6.03, 0: 6.08},
    "reservoir-3": {3: 5.76, 2: 5.74, 1: 5.72, 0: 5.7},
}
"""How the pH goes at the end: that of reservoir 1 climbs past its band on the morning the sample opens."""

Happening = tuple[bool | int | str, str]
OFF: Mapping[tuple[int, str, str], Happening] = {
    (113, "bench", "gnats"): (False, "gnats in two trays, card hung"),
    (104, "channel-8", "pests"): (3, "thrips on three plants, predators ordered"),
    (97, "channel-4", "wilt"): (False, "limp before noon, shade drawn"),
    (96, "channel-3", "tip-burn"): (4, "inner leaves, hot week"),
    (95, "hens", "birds"): ("one hangs back", "panting, put in the shade"),
    (88, "bed-north", "eaten"): (False, "slugs, collected at dusk"),
    (STORM, "house-air", "glazing"): (False, "one pane cracked, taped from inside"),
    (STORM, "apple-row", "limbs"): (False, "one limb down, roped off"),
    (HEN_LOST, "hens", "birds"): ("dead", "one found dead in the morning, an old bird"),
    (58, "reservoir-2", "look"): ("foam", "skimmed, gone after the top up"),
    (50, "channel-9", "caps"): (False, "drip at the far cap, pressed home"),
    (38, "channel-6", "roots"): ("brown", "two plants; flow and water looked at"),
    (30, "channel-6", "losses"): (2, "two plants with brown roots taken out, walked last from now on"),
    (27, "cask", "airlock"): ("dry", "refilled"),
    (24, "channel-2", "root-end"): (False, "root in the drain, trimmed"),
    (18, "store", "mice"): (False, "droppings behind bin 3, traps set"),
    (15, "channel-7", "pests"): (1, "aphids on one plant, washed off"),
    (8, "bench", "damp"): ("dry", "end tray, watered from below"),
}
NOTES: Mapping[tuple[int, str], str] = {
    (111, "channel-1"): "13 heads cut, channel scrubbed and planted again.",
    (92, "house-air"): "Hottest week so far; a round at noon every day.",
    (76, "channel-2"): "13 heads cut.",
    (60, "hens"): "The rest are lively. Vet not called for one old bird.",
    (44, "reservoir-1"): "No round yesterday: in bed with a fever. The neighbour shut the hens in.",
    (35, "cask"): "60 L pressed from the apple row, original gravity 1.052.",
    (22, "channel-1"): "Scrubbed and planted: 13 green lettuce.",
    (14, "reservoir-1"): "Made 5 L of working acid, 8 %.",
    (3, "channel-5"): "Stream looks thinner than last month; filter on the list.",
}
EDGE = "pH is at the edge of its band; acid tomorrow if it climbs on"
TOO_DARK = "too dark, lag the valve tomorrow"
