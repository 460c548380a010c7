"""The days of the sample farm: its rounds walked, its readings written down, what is off put right."""

from __future__ import annotations

import random
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from zlib import crc32

import sample_story as story
from sample_basin import Basin, measured
from sample_notebook import Notebook
from sample_readings import Nature, dusk_minutes, local_day, typed_number

from rounds.checklist.answers import exact_count
from rounds.checklist.due import DueItem, StationDue, due_items, zone_of
from rounds.checklist.load import ALIVE, Checklists
from rounds.checklist.model import Item
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Base, Concentrate, Ration
from rounds.farm.stations import Reservoir

MORNING, NOON = time(6, 50), time(12, 40)
SUNDAY = 6


class Diary:
    """The grower of the story, who does what is due and no more."""

    def __init__(self, farm: Farm, checklists: Checklists, until: date, days: int, seed: int) -> None:
        self.farm, self.checklists, self.until, self.days = farm, checklists, until, days
        self.chance = random.Random(seed)
        self.zone = zone_of(farm.place.timezone)
        self.book = Notebook(farm, seed)
        self.events: dict[tuple[str, str], datetime] = {}
        reservoirs = [s for s in farm.stations.values() if isinstance(s, Reservoir)]
        self.basins = {s.id: Basin(farm, s, story.ACID[s.id]) for s in reservoirs}
        self.nature = Nature(self.basins, until, self.chance)
        for basin in self.basins.values():
            basin.renew(5.9)

    def live_through(self, before: int) -> None:
        """One day with its rounds."""
        self.nature.new_day(before)
        if before == story.IN_BED:
            return
        self.book.person = "helper" if before in story.HELPER else "grower"
        self._round("morning", MORNING)
        if before in story.HOT_WEEK:
            self._round("midday", NOON)
        if self.nature.day.weekday() != SUNDAY:
            minutes = dusk_minutes(self.nature.day)
            self._round("dusk", time(minutes // 60, minutes % 60))

    def tomorrow(self) -> dict[str, str]:
        """The quick line of each station on the morning after."""
        self.nature.new_day(0)
        self.nature.noon = False
        now = datetime.combine(self.until, MORNING, self.zone)
        lines = {}
        for stop in due_items(self.farm, self.checklists, self.book.latest, now, "morning", self.events):
            numbers = [each.item for each in stop.items if each.item.type == "reading"]
            typed = [f"{item.names[0]} {self._typed(stop, item)[1]}" for item in numbers]
            if typed:
                lines[stop.station_id] = " ".join(typed)
        return lines

    # ---------------------------------------------------------------------------------------------------- rounds

    def _round(self, name: str, start: time) -> None:
        day = self.nature.day
        self.nature.noon = name == "midday"
        self.book.clock = datetime.combine(day, start, self.zone) + timedelta(minutes=self.chance.randrange(15))
        self.book.round_id = f"{day.isoformat()}-{name}"
        self.book.write("round", "", name, value="started")
        self._alive(name)
        self.book.later(2)
        for stop in due_items(self.farm, self.checklists, self.book.latest, self.book.clock, name, self.events):
            self._stop(stop, name)
        if name == "morning":
            self._shelf()
        self.book.write("round", "", name, value="closed", data={"open": []})

    def _alive(self, name: str) -> None:
        checklist = self.checklists.of(ALIVE)
        items = [item.id for item in checklist.items if name in item.rounds] if checklist else []
        if self.nature.before == story.STORM and name == "morning":
            items.remove("storm")
            self.book.write("check", "", "storm", value=False, note="Storm in the night, power off for an hour.")
            self.events["", "storm"] = self.book.clock
        self.book.write("check", "", "all-well", value=True, data={"covers": items})

    def _stop(self, stop: StationDue, name: str) -> None:
        before = self.nature.before
        if stop.kind == "ferment" and before > story.CASK_FILLED:
            return
        if (before, name, stop.kind) == (1, "dusk", "tank"):
            self.book.write("skip", stop.station_id, "", note=story.TOO_DARK)
            return
        due = [each for each in stop.items if self._is_done(stop, each)]
        single = [each for each in due if each.asked_outright or self._happening(stop, each.item)]
        for each in single:
            self._answer(stop, each.item)
        well = [each.item.id for each in due if each not in single]
        if well:
            self.book.write("check", stop.station_id, "all-well", value=True, data={"covers": well})
        if name == "morning":
            self._afterwards(stop)
        self.book.later(1 + self.chance.randrange(3))

    def _is_done(self, stop: StationDue, due: DueItem) -> bool:
        """Whether it was answered that day: long intervals begin on different days, and one test is left undone."""
        if (stop.station_id, due.item.id) == ("safeguards", "generator"):
            return self.nature.before in story.GENERATOR_TESTS
        every = max((rule.every_days or 1 for rule in due.item.due), default=1)
        passed = self.days - self.nature.before
        return due.last is not None or passed >= crc32(f"{stop.station_id} {due.item.id}".encode()) % every

    def _happening(self, stop: StationDue, item: Item) -> story.Happening | None:
        if not self.book.round_id.endswith("morning"):
            return None
        return story.OFF.get((self.nature.before, stop.station_id, item.id))

    def _answer(self, stop: StationDue, item: Item) -> None:
        if item.type == "reading":
            value, typed = self._typed(stop, item)
            if item.share == "meter":
                self.book.reading("", item, value, typed, data={"buffer": 7.0, "temperature_c": 20})
            else:
                self.book.reading(stop.station_id, item, value, typed)
            return
        off, note = self._happening(stop, item) or (None, None)
        value = off if off is not None else self._well(stop, item)
        self.book.write("check", stop.station_id, item.id, value=value, note=note)

    def _typed(self, stop: StationDue, item: Item) -> tuple[float, str]:
        return typed_number(self.nature.value(stop.station_id, stop.kind, item), item, self.chance)

    def _well(self, stop: StationDue, item: Item) -> bool | int | str | None:
        if isinstance(item.well, tuple):
            return item.well[0]
        if item.id == "perch":
            return 23 if self.nature.before <= story.HEN_LOST else 24
        if item.id == "traps":
            return self.chance.randrange(4)
        if item.type == "count":
            return exact_count(item, self.farm.stations[stop.station_id]) or 0
        return item.well if isinstance(item.well, bool) else None

    def _afterwards(self, stop: StationDue) -> None:
        note = story.NOTES.get((self.nature.before, stop.station_id))
        if note:
            self.book.write("note", stop.station_id, "", note=note)
        if stop.station_id in self.basins:
            self._put_right(stop.station_id, self.basins[stop.station_id])
        if stop.station_id == "channel-5":
            self._clean_inlet()

    # --------------------------------------------------------------------------------------------- putting it right

    def _put_right(self, name: str, basin: Basin) -> None:
        stage = self.farm.stage_of(basin.reservoir)
        ph, ec = self.book.last_value(name, "ph"), self.book.last_value(name, "ec")
        before = self.nature.before
        if (before, name) == (story.WRONG_ENTRY, "reservoir-2"):
            self._type_wrong(name, ec)
        if before in story.CHANGE_OUTS[name]:
            self._change_out(name, basin, sum(stage.ph) / 2 - 0.05)
        elif before in story.FILLED_UP[name]:
            self._top_up(name, basin, share=1.02)
        elif name == "reservoir-1" and before in story.LAST_DAYS[name]:
            self._leave_it(name)
        elif basin.inside_l < 0.9 * basin.reservoir.working_volume_l:
            self._top_up(name, basin)
        elif ph > stage.ph[1] - 0.02:
            self._pour(name, basin, basin.acid, basin.acid_for(stage.ph[1] - 0.35), "acid")
        elif ph < stage.ph[0] + 0.02:
            self._pour(name, basin, story.BASE, basin.base_for(stage.ph[0] + 0.25, story.BASE), "base")
        elif ec < stage.ec[0] + 0.06:
            self._feed(name, basin, stage.ec[0] + 0.2 - ec)

    def _leave_it(self, name: str) -> None:
        if self.nature.before == 1:
            self.book.later(2)
            self.book.write("put-off", name, "", note=story.EDGE, data={"correction": None})

    def _change_out(self, name: str, basin: Basin, ph: float) -> None:
        self.book.later(30)
        doses = basin.renew(ph)
        self.book.dose(name, basin.water.id, doses["water"], "L", "change_out", 1)
        self.events[name, "change-out"] = self.book.clock
        first = measured(0.75 * doses["acid"])
        self.book.dose(name, basin.acid, first, "mL", "acid", 2)
        self._parts(name, basin, doses)
        self.book.later(45)
        self.book.dose(name, basin.acid, doses["acid"] - first, "mL", "acid", 5)
        self._recheck(name, basin, basin.ph, 50)

    def _top_up(self, name: str, basin: Basin, share: float = 1.0) -> None:
        self.book.later(4)
        alkalinity, ph = basin.alkalinity, basin.ph
        doses = basin.top_up(share)
        self.book.dose(name, basin.water.id, doses["water"], "L", "top_up", 1)
        self.book.dose(name, basin.acid, doses["acid"], "mL", "acid", 2)
        self._parts(name, basin, doses)
        self._recheck(name, basin, basin.ph_an_hour_after(alkalinity, ph), 55)

    def _feed(self, name: str, basin: Basin, missing: float) -> None:
        self.book.later(4)
        alkalinity, ph = basin.alkalinity, basin.ph
        self._parts(name, basin, basin.feed(missing))
        self._recheck(name, basin, basin.ph_an_hour_after(alkalinity, ph), 55)

    def _parts(self, name: str, basin: Basin, doses: Mapping[str, float]) -> None:
        for step, part in enumerate("ab", 3):
            self.book.later(12)
            self.book.dose(name, basin.parts[part], doses[part], "mL", f"concentrate_{part}", step)

    def _pour(self, name: str, basin: Basin, product: str, ml: float, action: str) -> None:
        self.book.later(4)
        alkalinity, ph = basin.alkalinity, basin.ph
        basin.pour_agent(product, ml)
        self.book.dose(name, product, ml, "mL", action, 1)
        self._recheck(name, basin, basin.ph_an_hour_after(alkalinity, ph), 60)

    def _recheck(self, name: str, basin: Basin, ph: float, after_min: float) -> None:
        self.book.later(after_min)
        basin.rest()
        for item_id, value in (("ph", ph), ("ec", basin.ec())):
            item = self._item("reservoir", item_id)
            self.book.reading(name, item, *typed_number(value + self.chance.gauss(0, 0.015), item, self.chance))

    def _type_wrong(self, name: str, ec: float) -> None:
        """A decimal point forgotten, kept in spite of the question, put right the next day."""
        item = self._item("reservoir", "ec")
        kept = ("hard to believe, kept",)
        wrong = self.book.reading(name, item, round(ec * 10, 1), f"{ec * 10:.1f}", marks=kept)
        self.book.reading(name, item, ec, f"{ec:.2f}", replaces=wrong, note="the point was forgotten")

    def _clean_inlet(self) -> None:
        last = self.book.latest.get(("channel-5", "flow"))
        item = self._item("channel", "flow")
        wanted = self.farm.stations["channel-5"]
        if last is None or local_day(last.measured_at, self.book.clock) != self.nature.day:
            return
        if not isinstance(last.value, float) or last.value >= 0.85 * getattr(wanted, "flow_l_min", 1.0):
            return
        self.book.later(12)
        self.book.write("note", "channel-5", "", note="Inlet filter clogged with root hairs, rinsed.")
        again = self._item("channel", "flow-again")
        self.nature.cleaned_on = self.nature.day
        self.book.reading("channel-5", again, *typed_number(0.99 + self.chance.gauss(0, 0.01), item, self.chance))

    def _shelf(self) -> None:
        if self.nature.before in story.DELIVERED:
            self.book.write("stock", "", "layer-ration", value=71.0, unit="kg", data={"why": "delivered"})
        if self.nature.before == story.COUNTED:
            for product in self.farm.shelf.values():
                if isinstance(product, Concentrate | Acid | Base | Ration):
                    self.book.write(
                        "stock", "", product.id, value=product.amount, unit=product.unit, data={"why": "counted"}
                    )

    def _item(self, kind: str, item_id: str) -> Item:
        item = self.checklists.item(kind, item_id)
        assert item is not None, f"the checklist {kind} has no {item_id}"
        return item
