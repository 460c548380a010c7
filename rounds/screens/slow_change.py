"""What changes slowly: the findings first, then every reading of the farm, and a plain picture of the one chosen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import tzinfo
from functools import partial
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.errors import RoundsError
from rounds.screens.messages import BackToWalk
from rounds.screens.prompt import PromptScreen
from rounds.walk.round import Round
from rounds.walk.session import Session
from rounds.walk.slow_change.finding import SlowChange
from rounds.walk.slow_change.plot import draw
from rounds.walk.slow_change.series import Series
from rounds.walk.slow_change.watch import Watch, look_over, mark_put_right, mark_seen
from rounds.walk.slow_change.words import about, row_text
from rounds.widgets.background import in_background
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine


class SeriesList(OptionList):
    """The series; Enter makes the picture of one larger."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "select", "larger", id="slow.larger")]


class Picture(Static):
    """The picture of one series; it is drawn anew for whatever room there is."""

    series: Series | None = None
    finding: SlowChange | None = None

    def show(self, series: Series, finding: SlowChange | None, zone: tzinfo) -> None:
        """Draw this one."""
        self.series, self.finding, self._zone = series, finding, zone
        self.on_resize()

    def on_resize(self) -> None:
        """Fill what there is."""
        width, height = self.content_size
        if self.series is not None and width and height:
            lines = draw(self.series, self.finding, width=width, height=height, zone=self._zone)
            self.update(Content("\n".join(lines)))


class SlowChangeScreen(Screen[None]):
    """A list, and the picture of what is under the bar."""

    CSS_PATH = "slow_change.tcss"
    PAGE: ClassVar[str] = "slow"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of(
        "slow", {"another": "next_station", "cured": "put_right", "undo": "app.undo"}, elsewhere=("enter",)
    )

    @dataclass
    class Looked(Message, bubble=False):
        """What a thread has found."""

        watch: Watch

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.looked = Watch(series=(), findings=())
        self._rows: list[Series] = []

    def compose(self) -> ComposeResult:
        """Head, list, what is said of it, picture, keys."""
        yield Head("Slow change", "looking over the readings …")
        yield SeriesList(id="series", markup=False, compact=True)
        yield Static("", id="told")
        yield Picture("", id="picture")
        yield Static("", id="message")
        yield KeyLine()

    def on_mount(self) -> None:
        """Begin to look."""
        self._say("")
        self.query_one("#series").focus()
        self._look()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what changes slowly can be seen or put right."""
        if action in ("put_right", "seen"):
            series = self._under_bar()
            return series is not None and self.looked.finding(series) is not None
        return True

    def _look(self) -> None:
        work = partial(look_over, self.session)
        in_background(self, "looking over the readings", work, lambda watch: self.post_message(self.Looked(watch)))

    @on(Looked)
    def show_what_was_found(self, event: Looked) -> None:
        """Findings first, then all series in the order of the walk."""
        self.looked = event.watch
        found = {finding.series.key for finding in self.looked.findings}
        self._rows = [f.series for f in self.looked.findings] + [s for s in self.looked.series if s.key not in found]
        listed = self.query_one("#series", OptionList)
        here = listed.highlighted or 0
        listed.clear_options().add_options([Option(Content(self._row(series))) for series in self._rows])
        if self._rows:
            listed.highlighted = min(here, len(self._rows) - 1)
        count = len(found)
        told = f"{count} of {len(self._rows)} readings" if count else f"none of {len(self._rows)} readings"
        self.query_one(Head).say("Slow change", told if self._rows else "nothing was read yet")
        self._show()

    @on(OptionList.OptionHighlighted)
    def _show(self) -> None:
        series = self._under_bar()
        self.refresh_bindings()
        if series is None:
            self.query_one("#told", Static).update(Content(""))
            return
        self.query_one("#told", Static).update(Content(about(series, self.looked.findings, self.session)))
        self.query_one(Picture).show(series, self.looked.finding(series), self.session.zone)

    @on(OptionList.OptionSelected)
    def larger(self) -> None:
        """The picture alone, or with the list again."""
        self.toggle_class("-large")

    def action_next_station(self) -> None:
        """Go to the first reading of the next station."""
        listed = self.query_one("#series", OptionList)
        here = self._under_bar()
        if here is None or listed.highlighted is None:
            return
        rows = range(len(self._rows))
        after = [*rows[listed.highlighted + 1 :], *rows[: listed.highlighted]]
        other = (n for n in after if self._rows[n].station_id != here.station_id)
        listed.highlighted = next(other, listed.highlighted)

    def action_seen(self) -> None:
        """Write down that it was looked at: the first screen leaves it out for two weeks."""
        series = self._under_bar()
        if series is not None:
            self._write(lambda: mark_seen(self.session, series), "Written down. The first screen leaves it out now.")

    def action_put_right(self) -> None:
        """Ask what was done; from then on only new readings are compared."""
        series = self._under_bar()
        if series is not None:
            question = f"What was done about it at {series.place}?"
            self.app.push_screen(PromptScreen(question), lambda what: self._put_right(series, what))

    def _put_right(self, series: Series, what: str | None) -> None:
        if what:
            said = "Written down. Only what is read from now on is compared."
            self._write(lambda: mark_put_right(self.session, series, what), said)

    def _write(self, save: Callable[[], object], said: str) -> None:
        try:
            save()
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._say(said)
        self._look()

    def _say(self, text: str) -> None:
        message = self.query_one("#message", Static)
        message.update(Content(text))
        message.display = bool(text)

    def action_back(self) -> None:
        """From the large picture to the list, from the list to the walk."""
        if self.has_class("-large"):
            self.larger()
        else:
            self.post_message(BackToWalk())

    def _row(self, series: Series) -> str:
        return row_text(series, self.looked.finding(series), self.session.now(), self.session.zone)

    def _under_bar(self) -> Series | None:
        index = self.query_one("#series", OptionList).highlighted
        return self._rows[index] if index is not None and index < len(self._rows) else None


def build(session: Session, _walk: Round | None) -> Screen[Any]:
    """The screen for the registry."""
    return SlowChangeScreen(session)
