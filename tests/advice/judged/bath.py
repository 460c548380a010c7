"""The smallest make there is: a bath that answers acid and base by a straight line. It shows what a make must have."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta

from tests.advice.judged.make import Given, Line, Question, Truth, Where
from tests.advice.judged.second.drawn import drawn
from tests.advice.judged.second.files import files_of

_MEQ_PER_PH = 0.5


class Bath:
    """Half a milliequivalent to a litre and pH; nothing else ever happens in it."""

    reservoir_id = "r"
    band = (5.5, 6.1)

    def __init__(self, seed: int, story: str) -> None:
        self.seed, self.story = seed, story
        self.told = drawn(seed)
        self.pump_l_min = self.told.pump_told
        self.ph = 6.3 + 0.1 * (seed % 6)
        self.range = [self.ph, self.ph]
        self.minute = 0.0
        self.asked: list[str] = []

    @property
    def now(self) -> datetime:
        return datetime(2026, 6, 10, 7, 0, tzinfo=UTC) + timedelta(minutes=self.minute)

    def farm_files(self) -> Mapping[str, str]:
        return files_of(self.told, (1.5, 2.1), 0.5, self.now)

    def record(self) -> Sequence[Line]:
        return ()

    def read(self, what: str) -> float:
        level_cm = 10.0 * self.told.working_l_told / self.told.area_dm2_told
        return {"ph": round(self.ph, 2), "ec": 1.8, "t": 20.0, "dip": round(level_cm, 1)}[what]

    def pour(self, product: str, litres: float, where: Where) -> None:
        bottle, sign = {"acid": (self.told.acid, -1.0), "base": (self.told.base, 1.0)}.get(product, (None, 0.0))
        if bottle is not None:
            meq = 1000.0 * litres * bottle.label_mol_l
            self.ph += sign * meq / (_MEQ_PER_PH * self.told.working_l_told)
        self.range = [min(self.ph, self.range[0]), max(self.ph, self.range[1])]

    def drain(self, litres: float) -> None:
        """It makes no difference here."""

    def wait(self, minutes: float) -> None:
        self.minute += minutes

    def answer(self, question: Question) -> Given | None:
        self.asked.append(question.code)
        return 7.02 if question.code == "buffer-dip" else None

    def truth(self) -> Truth:
        return Truth(ph=self.ph, ec_ms_cm=1.8, lowest_ph=self.range[0], highest_ph=self.range[1])

    def oracle_morning(self) -> bool:
        low, high = self.band
        if low <= self.ph <= high:
            return False
        self.ph = (low + high) / 2.0
        return True
