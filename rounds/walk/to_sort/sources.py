"""The sources of this room, in the order in which they are asked."""

from __future__ import annotations

from rounds.walk.to_sort.frost import frost_tonight
from rounds.walk.to_sort.happened import birds_lost, leaks_suspected, waiting_times
from rounds.walk.to_sort.left import corrections_put_off, poured_beyond, stations_left_out, stations_not_reached
from rounds.walk.to_sort.model import register
from rounds.walk.to_sort.not_ended import corrections_begun, pairs_half_poured, poured_and_not_read
from rounds.walk.to_sort.noted import notes_of_their_day
from rounds.walk.to_sort.off import things_off
from rounds.walk.to_sort.passing import passing_states
from rounds.walk.to_sort.sick import sick_stations

for each in (
    pairs_half_poured, passing_states, things_off, sick_stations, leaks_suspected, birds_lost, corrections_begun,
    poured_and_not_read, corrections_put_off, stations_left_out, stations_not_reached, poured_beyond, waiting_times,
    frost_tonight, notes_of_their_day,
):  # fmt: skip
    register(each)
