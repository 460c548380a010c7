"""One station of the round: a line that takes everything, a field per item, and what each answer means."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input, Static

from rounds.checklist.answers import band_of
from rounds.checklist.check_words import answers_of
from rounds.checklist.model import Item
from rounds.errors import RoundsError
from rounds.screens.messages import BackToWalk, WalkOn
from rounds.screens.prompt import PromptScreen
from rounds.screens.questions import Questions
from rounds.screens.wording import answer_text, when
from rounds.units import show
from rounds.walk.desk import Desk, Taken
from rounds.walk.stops import Line
from rounds.widgets.head import Head
from rounds.widgets.item_row import ItemRow
from rounds.widgets.key_line import KeyLine
from rounds.widgets.quick_line import QuickLine

TODO, COVERED = "•", "◦"
"""Signs before an item that is still open: asked by itself, or answered by "all well"."""


class StationScreen(Screen[None]):
    """Takes the answers of one station."""

    CSS_PATH = "station.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("plus,f2", "all_well", "all well", key_display="+", id="station.all_well"),
        Binding("slash,f4", "skip", "skip", key_display="/", id="station.skip"),
        Binding("asterisk,f3", "note", "note", key_display="*", id="station.note"),
        Binding("f6", "undo", "undo", id="station.undo"),
        Binding("f9", "correct", "correct", id="station.correct"),
        Binding("escape", "back", "back", id="station.back"),
        Binding("up", "move(-1)", show=False, id="station.up"),
        Binding("down", "move(1)", show=False, id="station.down"),
    ]

    def __init__(self, desk: Desk, *, right: str = "", opens_round: bool = False) -> None:
        super().__init__()
        self.desk = desk
        self._right = right
        self.opens_round = opens_round
        self.questions = Questions()
        self._something_off = False

    def compose(self) -> ComposeResult:
        """Head, quick line, message, rows, hint, keys."""
        stop = self.desk.stop
        yield Head(self._title(), self._right)
        yield Static(Content(self._subtitle()), id="subtitle")
        with Horizontal(id="entry"):
            yield Static(Content("▶ "), id="mark")
            yield QuickLine(placeholder=self._order(), id="quick")
        yield Static("", id="message")
        with VerticalScroll(id="rows", can_focus=False):
            yield from (self._row(line) for line in stop.lines)
        yield Static("", id="hint")
        yield KeyLine()

    def on_mount(self) -> None:
        """Begin with the line."""
        self.query_one("#quick").focus()
        self._ask_next()

    @on(Input.Submitted, "#quick")
    def take_line(self, event: Input.Submitted) -> None:
        """Take what was typed on the quick line, as the answer to what was asked or as a line of its own."""
        text = event.value.strip()
        if not text and not self.questions.doubtful:
            self._go_on()
            return
        self._show(self._taken(text), line=event.input)

    @on(Input.Submitted, "ItemRow QuickLine")
    def take_field(self, event: Input.Submitted) -> None:
        """Take what was typed into one item's field."""
        row = event.input.parent
        assert isinstance(row, ItemRow)
        item = next(line.item for line in self.desk.stop.lines if line.item.id == row.item_id)
        if not event.value.strip():
            self.action_move(1)
            return
        taken = self._tried(lambda: self.desk.take_field(item, event.value))
        self._show(taken, line=event.input)
        if taken.saved:
            self.action_move(1)
        elif taken.doubtful:
            self.query_one("#quick").focus()

    def on_descendant_focus(self) -> None:
        """Show how the item in focus is looked at, and why."""
        focused = self.focused
        row = focused.parent if focused else None
        line = next((x for x in self.desk.stop.lines if isinstance(row, ItemRow) and x.item.id == row.item_id), None)
        self.query_one("#hint", Static).update(Content(_how_and_why(line)))

    def action_all_well(self) -> None:
        """Everything that may be is answered as well."""
        try:
            records = self.desk.all_well()
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        for item_id in records[0].data.get("covers", ()) if records else ():
            self._judge(item_id, "✓", "well", "")
        self._ask_next()
        if self._missing():
            self._say(f"All well. Still asked: {self._missing()}.")
        elif not self.questions.open:
            self._go_on()

    def action_skip(self) -> None:
        """Leave the rest out, with a reason."""
        self._prompt(f"Why is {self.desk.stop.station.name} left out?", self._skipped)

    def action_note(self) -> None:
        """Write a note on this station."""
        self._prompt(f"Note on {self.desk.stop.station.name}", self._noted)

    def action_undo(self) -> None:
        """Take the last thing back."""
        try:
            taken_back = self.desk.undo()
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        items = {record.item for record in taken_back} | {
            covered for record in taken_back for covered in record.data.get("covers", ())
        }
        for line in self.desk.stop.lines:
            if line.item.id in items:
                self._judge(line.item.id, _sign(line), "taken back", "")
        self._say(
            "Taken back; the record keeps both." if taken_back else "There is nothing to take back on this visit."
        )
        self._ask_next(keep_message=True)

    def action_correct(self) -> None:
        """Work out the correction now."""
        self.post_message(WalkOn(self.desk.stop.station_id, read=True))

    def action_back(self) -> None:
        """Back to the whole walk."""
        self.post_message(BackToWalk())

    def action_move(self, by: int) -> None:
        """Move between the line and the fields."""
        fields = [self.query_one("#quick", QuickLine), *(row.field for row in self.query(ItemRow))]
        here = fields.index(self.focused) if self.focused in fields else 0
        fields[(here + by) % len(fields)].focus()

    def _taken(self, text: str) -> Taken:
        doubtful = self.questions.doubtful
        if doubtful is not None and text.casefold() in ("", "k", "keep"):
            self.questions.settle()
            take = self.desk.keep if text else self.desk.take_likely
            return self._tried(lambda: take(doubtful))
        asked = self.questions.asked
        if asked is not None and doubtful is None:
            taken = self._tried(lambda: self.desk.take_field(asked, text))
            if not taken.problems:
                return taken
            as_line = self._tried(lambda: self.desk.take_line(text))
            return as_line if as_line.saved or as_line.doubtful else taken
        self.questions.settle()
        return self._tried(lambda: self.desk.take_line(text))

    def _tried(self, take: Callable[[], Taken]) -> Taken:
        try:
            return take()
        except RoundsError as error:
            return Taken(problems=(str(error),))

    def _show(self, taken: Taken, *, line: Input) -> None:
        for record, judgement in taken.saved:
            self._something_off = self._something_off or judgement.is_off
            item = next((x.item for x in self.desk.stop.lines if x.item.id == record.item), None)
            self._judge(record.item, judgement.sign, judgement.brief, answer_text(item, record))
        self.questions.doubt(taken.doubtful)
        if taken.problems:
            self._say("✗ " + " ✗ ".join(taken.problems))
        elif taken.saved:
            self._say(self._saved_text(taken))
        if not taken.problems:
            line.value = "" if line.id == "quick" else line.value
        self._ask_next(keep_message=bool(taken.problems or taken.saved))
        if taken.saved and not taken.problems and not self.questions.open and not self._open_items():
            self._finished()

    def _saved_text(self, taken: Taken) -> str:
        labels = {line.item.id: line.item.label for line in self.desk.stop.lines}
        off = [f"{labels.get(r.item, r.item)} {j.sign} {j.text}" for r, j in taken.saved if j.is_off]
        return f"Saved {len(taken.saved)}. " + (" · ".join(off) if off else "Nothing is off.")

    def _finished(self) -> None:
        if self._something_off:
            self._say(f"{self._message}  Enter walks on.")
        else:
            self._go_on()

    def _go_on(self) -> None:
        open_items = self._open_items()
        if not open_items:
            self.post_message(WalkOn(self.desk.stop.station_id, read=True))
            return
        missing = self._missing()
        if missing:
            self._say(f"Still asked: {missing}. Type it, or / leaves the rest out with a reason.")
        else:
            self._say("+ says all well; what is off is typed by its name, such as: " + self._example())

    def _ask_next(self, *, keep_message: bool = False) -> None:
        asked = [line for line in self.desk.stop.asked if line.item.id not in self.desk.answers]
        self.questions.ask(self._next_asked(asked))
        text = self.questions.text
        self.query_one("#mark", Static).update(Content("? " if text else "▶ "))
        if text and keep_message and self._message:
            self._say(f"{self._message}\n{text}")
        elif text or not keep_message:
            self._say(text)

    def _next_asked(self, asked: list[Line]) -> Item | None:
        """What is left of the readings once the bare numbers are there; checks once all is said to be well."""
        if any(line.item.quick for line in asked):
            return None
        readings = [line.item for line in asked if line.item.type == "reading"]
        all_said = all(line.item.id in self.desk.answers for line in self.desk.stop.covered)
        return readings[0] if readings else asked[0].item if asked and all_said else None

    def _open_items(self) -> list[Line]:
        return [line for line in self.desk.stop.open_lines if line.item.id not in self.desk.answers]

    def _missing(self) -> str:
        return ", ".join(line.item.label for line in self._open_items() if line.asked_outright)

    def _example(self) -> str:
        named = [line.item for line in self._open_items() if line.item.names]
        return f"{named[0].names[0]} ({answers_of(named[0])})" if named else "go to its field with ↓"

    def _prompt(self, question: str, then: Callable[[str | None], None]) -> None:
        self.app.push_screen(PromptScreen(question), then)

    def _skipped(self, reason: str | None) -> None:
        if reason and self._saved_or_said(lambda: self.desk.skip(reason)):
            self.post_message(WalkOn(self.desk.stop.station_id, read=True))

    def _noted(self, text: str | None) -> None:
        if text and self._saved_or_said(lambda: self.desk.note(text)):
            self._say("Noted.")

    def _saved_or_said(self, save: Callable[[], object]) -> bool:
        try:
            save()
        except RoundsError as error:
            self._say(f"✗ {error}")
            return False
        return True

    def _judge(self, item_id: str, sign: str, said: str, value: str) -> None:
        for row in self.query(ItemRow):
            if row.item_id == item_id:
                row.judge(sign, said, value)

    def _say(self, text: str) -> None:
        self._message = text
        self.query_one("#message", Static).update(Content(text))

    def _row(self, line: Line) -> ItemRow:
        session = self.desk.session
        last = line.last
        before = (
            f"{answer_text(line.item, last)}  {when(last.measured_at, session.now(), session.zone)}" if last else "–"
        )
        said = f"overdue by {line.due.overdue_days} d" if line.due and line.due.overdue_days else self._wanted(line)
        sign = "✓" if line.answered and line.due is None else _sign(line)
        expects = line.item.unit if line.item.type == "reading" else _short(answers_of(line.item))
        return ItemRow(line.item.id, line.item.label, expects, before, sign=sign, said=said)

    def _wanted(self, line: Line) -> str:
        band = band_of(line.item, self.desk.session.farm, self.desk.stop.station)
        if line.item.type != "reading" or band is None:
            return ""
        return f"{show(band[0], '', line.item.decimals)} to {show(band[1], '', line.item.decimals)}"

    def _title(self) -> str:
        stop = self.desk.stop
        return stop.station.name + (" · sick: wash hands and tools after it" if stop.station.sick else "")

    def _subtitle(self) -> str:
        return self.desk.stop.station.note or ""

    def _order(self) -> str:
        quick = [line.item for line in self.desk.stop.lines if line.item.quick]
        if quick:
            return "in this order: " + " ".join(item.names[0] for item in quick) + ", or by name"
        return "+ all well, or what is off by its name"


def _sign(line: Line) -> str:
    if line.due is None:
        return " "
    return TODO if line.asked_outright else COVERED


def _short(text: str) -> str:
    return text if len(text) <= 11 else text[:10] + "…"


def _how_and_why(line: Line | None) -> str:
    if line is None:
        return ""
    parts = [line.item.how, line.item.why, f"Answers: {answers_of(line.item)}." if line.item.type == "choice" else ""]
    return " ".join(part for part in parts if part)
