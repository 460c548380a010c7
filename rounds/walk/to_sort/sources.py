"""The sources of this room, in the order in which they are asked."""

from __future__ import annotations

from rounds.walk.to_sort.happened import birds_lost, leaks_suspected, waiting_times
from rounds.walk.to_sort.left import corrections_put_off, poured_beyond, stations_left_out, stations_not_reached
from rounds.walk.to_sort.model import register
from rounds.walk.to_sort.not_ended import corrections_begun, pairs_half_poured, poured_and_not_read
from rounds.walk.to_sort.off import things_off

for each in (
    pairs_half_poured, things_off, leaks_suspected, birds_lost, corrections_begun, poured_and_not_read,
    corrections_put_off, stations_left_out, stations_not_reached, poured_beyond, waiting_times,
):  # fmt: skip
    register(each)
