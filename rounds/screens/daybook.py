"""The daybook: what was written down, newest first; a wrong entry is replaced, never rubbed out."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.errors import BadInput, RoundsError
from rounds.history.record import Record
from rounds.screens.messages import BackToWalk
from rounds.screens.prompt import PromptScreen
from rounds.walk.answering import take_back
from rounds.walk.daybook import record_text
from rounds.walk.putting_right import is_rightable, put_right, right_value
from rounds.walk.round import Round
from rounds.walk.session import Session
from rounds.walk.wording import when
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine

PAGE_DAYS = 7
PAGE_LINES = 400


class DaybookScreen(Screen[None]):
    """Shows the last days; older ones come a week at a time."""

    CSS_PATH = "daybook.tcss"
    PAGE: ClassVar[str] = "daybook"
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings_of("daybook", {"other-value": "replace", "before": "older", "only": "filter", "undo": "app.undo"}),
    ]

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._days, self._most, self._more = PAGE_DAYS, PAGE_LINES, False
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
        """The next lines of these days, or a week further back where all of them stand there; the bar goes along."""
        shown = len(self._records)
        self._days += 0 if self._more else PAGE_DAYS
        self._most = max(self._most, shown + PAGE_LINES)
        self._show()
        if shown and len(self._records) > shown:
            self.query_one("#lines", OptionList).highlighted = shown

    def action_filter(self) -> None:
        """Only the station of the line under the bar, or all again."""
        record = self._under_bar()
        self._station = None if self._station is not None or record is None else record.station
        self._show()

    def action_replace(self) -> None:
        """Enter the right value; the wrong one stays visible as replaced."""
        record = self._under_bar()
        if record is None or not is_rightable(record):
            self._say("Only a reading, a dose or a stock can be put right; x takes anything back.")
            return
        question = f"{record_text(self.session, record)}. What is right, in {record.unit or 'numbers'}?"
        prompt = PromptScreen(question, check=self._check_of(record))
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

    def _check_of(self, record: Record) -> Callable[[str], None]:
        """What cannot be is refused; what is hard to believe is asked about once."""
        asked: set[str] = set()

        def check(text: str) -> None:
            _, doubt = right_value(self.session, record, text)
            if doubt and text not in asked:
                asked.add(text)
                raise BadInput(f"It is {doubt}.", "Enter again keeps it as it is.")

        return check

    def _replace(self, record: Record, text: str | None) -> None:
        if text is None:
            return
        try:
            put_right(self.session, record, text)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._show()
        self._say("Put right; the record keeps both.")

    def renew(self) -> None:
        """Something was taken back."""
        self._show()

    def _show(self) -> None:
        since = self.session.now() - timedelta(days=self._days)
        records = self.session.history.records(since=since, station=self._station)
        self._records = records[::-1][: self._most]
        self._more = len(records) > self._most
        lines = self.query_one("#lines", OptionList)
        lines.clear_options()
        lines.add_options([Option(Content(self._line(record))) for record in self._records])
        if self._records:
            lines.highlighted = 0
        lines.focus()
        station = self.session.farm.stations.get(self._station or "")
        told = f"{f'the newest {self._most} of ' if self._more else ''}the last {self._days} days"
        self.query_one(Head).say(f"Daybook{f' · {station.name}' if station else ''}", told)
        self._say("" if self._records else "Nothing was written down in these days. ← goes further back.")

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
