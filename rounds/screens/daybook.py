"""The daybook: what was written down, newest first; a wrong entry is replaced, never rubbed out."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, ClassVar

import msgspec
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.errors import RoundsError
from rounds.history.record import Draft, Record
from rounds.screens.messages import BackToWalk
from rounds.screens.prompt import PromptScreen
from rounds.units import parse_quantity
from rounds.walk.answering import take_back
from rounds.walk.daybook import record_text
from rounds.walk.round import Round
from rounds.walk.session import Session
from rounds.walk.wording import when
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine

PAGE_DAYS = 7
MOST_LINES = 400


class DaybookScreen(Screen[None]):
    """Shows the last days; older ones come a week at a time."""

    CSS_PATH = "daybook.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("e", "replace", "put right", id="daybook.replace"),
        Binding("x", "take_back", "take back", id="daybook.take_back"),
        Binding("o", "older", "older", id="daybook.older"),
        Binding("f", "filter", "one station", id="daybook.filter"),
        Binding("escape", "back", "back", id="daybook.back"),
    ]

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._days = PAGE_DAYS
        self._station: str | None = None
        self._records: list[Record] = []

    def compose(self) -> ComposeResult:
        """Head, lines, message, keys."""
        yield Head("Daybook")
        yield OptionList(id="lines", markup=False, compact=True)
        yield Static("", id="message")
        yield KeyLine()

    def on_mount(self) -> None:
        """Show the last week."""
        self._show()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A helper reads the daybook; putting right is the grower's."""
        return not (self.session.is_helper and action in ("replace", "take_back"))

    def action_older(self) -> None:
        """A week further back."""
        self._days += PAGE_DAYS
        self._show()

    def action_filter(self) -> None:
        """Only the station of the line under the bar, or all again."""
        record = self._under_bar()
        self._station = None if self._station is not None or record is None else record.station
        self._show()

    def action_replace(self) -> None:
        """Enter the right value; the wrong one stays visible as replaced."""
        record = self._under_bar()
        if record is None or record.kind not in ("reading", "dose", "stock"):
            self._say("Only a reading, a dose or a stock can be put right; x takes anything back.")
            return
        question = f"{record_text(self.session, record)}. What is right, in {record.unit or 'numbers'}?"
        prompt = PromptScreen(question, check=lambda text: self._value(record, text))
        self.app.push_screen(prompt, lambda text: self._replace(record, text))

    def action_take_back(self) -> None:
        """Say that an entry does not count, and why."""
        record = self._under_bar()
        if record is not None:
            question = f"Why does this not count? {record_text(self.session, record)}"
            self.app.push_screen(PromptScreen(question), lambda why: self._take_back(record, why))

    def action_back(self) -> None:
        """Back to the walk."""
        self.post_message(BackToWalk())

    def _take_back(self, record: Record, why: str | None) -> None:
        if why is None:
            return
        try:
            again = take_back(self.session, record, why)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._show()
        told = f" It counts again: {record_text(self.session, again[0])}." if again else ""
        self._say(f"Taken back; the record keeps both.{told}")

    def _value(self, record: Record, text: str) -> float:
        return parse_quantity(text, usual=record.unit or "", gallon=self.session.farm.place.gallon)

    def _replace(self, record: Record, text: str | None) -> None:
        if text is None:
            return
        try:
            value = self._value(record, text)
            fields = {name: getattr(record, name) for name in Draft.__struct_fields__}
            draft = msgspec.structs.replace(Draft(**fields), value=value, typed=text, person=self.session.person_name())
            self.session.history.replace(record.id, draft)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._show()
        self._say("Put right; the record keeps both.")

    def _show(self) -> None:
        since = self.session.now() - timedelta(days=self._days)
        records = self.session.history.records(since=since, station=self._station)
        self._records = records[::-1][:MOST_LINES]
        lines = self.query_one("#lines", OptionList)
        lines.clear_options()
        lines.add_options([Option(Content(self._line(record))) for record in self._records])
        if self._records:
            lines.highlighted = 0
        lines.focus()
        station = self.session.farm.stations.get(self._station or "")
        self.query_one(Head).say(f"Daybook{f' · {station.name}' if station else ''}", f"the last {self._days} days")
        self._say("" if self._records else "Nothing was written down in these days. o goes further back.")

    def _line(self, record: Record) -> str:
        time = when(record.measured_at, self.session.now(), self.session.zone)
        return f"{time:<12} {record.person:<8.8} {record_text(self.session, record)}"

    def _under_bar(self) -> Record | None:
        index = self.query_one("#lines", OptionList).highlighted
        return self._records[index] if index is not None and index < len(self._records) else None

    def _say(self, text: str) -> None:
        self.query_one("#message", Static).update(Content(text))


def build(session: Session, _walk: Round | None) -> Screen[Any]:
    """The screen for the registry."""
    return DaybookScreen(session)
