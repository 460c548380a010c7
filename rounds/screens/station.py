"""One station of the round: a line that takes everything, a field per item, and what each answer means."""

from __future__ import annotations

from time import monotonic
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from rounds.screens.asking import ask_in_between
from rounds.screens.choosing import find_station
from rounds.screens.messages import Lead
from rounds.screens.slow_line import SlowLine
from rounds.walk.at_station import AtStation
from rounds.walk.conversation import Conversation
from rounds.walk.dialogue import Reply, ToWalk, Way
from rounds.walk.measuring.hints import guess_text
from rounds.walk.station_text import how_and_why, order_of, row_of, subtitle_of, title_of
from rounds.walk.stops import ItemLine
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.item_row import ItemRow
from rounds.widgets.key_line import KeyLine
from rounds.widgets.keys_in_turn import TypedTooEarly
from rounds.widgets.quick_line import QuickLine
from rounds.widgets.writing import write


class StationScreen(Screen[None]):
    """Takes the answers of one station."""

    CSS_PATH = "station.tcss"
    settle_s: ClassVar[float] = 0.7
    """A key so soon after a question that keys alone answer was typed before it was read: it waits for Enter. [s]"""
    PAGE: ClassVar[str] = "station"
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings_of("station", elsewhere=("enter",)),
        Binding("enter", "take", show=False, id="station.take"),
        Binding("up", "move(-1)", show=False, id="station.up"),
        Binding("down", "move(1)", "fields", key_display="↓", id="station.down"),
    ]

    def __init__(self, dialogue: AtStation, *, right: str = "", line: str = "") -> None:
        super().__init__()
        self._handed = line
        """What was typed for this station on another screen: taken as soon as its answer can be shown."""
        self.dialogue = dialogue
        self.visit = dialogue.visit
        self._right = right
        self._leaving = False
        self._refused = ""
        """What stood on the line when Esc could not take it: once more, and it is left unwritten."""
        self._quiet_until = 0.0

    @property
    def conversation(self) -> Conversation:
        """What was answered on this visit, and what is asked."""
        return self.dialogue.conversation

    def compose(self) -> ComposeResult:
        """Head, quick line, message, rows, hint, keys."""
        stop = self.visit.stop
        yield Head(title_of(stop), self._right)
        yield Static(Content(subtitle_of(self.visit.session, stop)), id="subtitle")
        with Horizontal(id="entry"):
            yield Static(Content("▶ "), id="mark")
            yield QuickLine(placeholder=order_of(self.visit), id="quick")
        yield Static("", id="message")
        with VerticalScroll(id="rows", can_focus=False):
            for line in stop.lines:
                row = row_of(self.visit.session, stop, line)
                yield ItemRow(row.item_id, row.label, row.expects_briefly, row.before, sign=row.sign, said=row.said)
                if self.visit.session.is_helper and line.item.how:
                    yield Static(Content(f"  {line.item.how}"), classes="how")
        yield SlowLine(self.visit.session, stop.station_id)
        yield Static("", id="hint")
        yield KeyLine()

    def on_mount(self) -> None:
        """Begin with the line."""
        self.set_focus(self.query_one("#quick"))
        self._say(self.conversation.questions.text)
        self.query_one(SlowLine).look()
        if self._handed:
            quick = self.query_one("#quick", QuickLine)
            quick.value = self._handed
            self._take_line(quick)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Keys typed ahead while the next station opens must not land here."""
        return not self._leaving

    def action_take(self) -> None:
        """Take what was typed, on the line or in a field.

        The line calls this itself when Enter reaches it, behind every key that was typed before: a priority binding
        would overtake them and take half a number.
        """
        if self._leaving:
            return
        focused = self.focused
        if isinstance(focused, QuickLine) and isinstance(focused.parent, ItemRow):
            self._take_field(focused.parent)
        elif isinstance(focused, QuickLine):
            self._take_line(focused)

    @on(QuickLine.Changed, "#quick")
    def one_key_answers(self, event: QuickLine.Changed) -> None:
        """Take a key that answers alone what is asked, without Enter."""
        if monotonic() < self._quiet_until or self._leaving:
            return
        if event.value in self.dialogue.keys_alone:
            self._take_line(self.query_one("#quick", QuickLine))

    def _take_line(self, quick: QuickLine) -> None:
        """Take the line; Enter alone so soon after a question that keys answer was pressed before it was read."""
        if not quick.value.strip() and self.dialogue.keys_alone and monotonic() < self._quiet_until:
            return
        said = self.dialogue.answer(quick.value.strip())
        if said.accepted:
            quick.value = ""
        else:
            quick.offer_again()
        self._answer(said)

    def _takes_what_is_typed(self) -> bool:
        """Take whatever stands on the line and in the fields; say whether all of it was taken."""
        line = self.query_one("#quick", QuickLine)
        if line.value.strip():
            self.set_focus(line)
            self.action_take()
            if line.value.strip():
                return False
        changed = [row for row in self.query(ItemRow) if row.has_new_text]
        return all(self._takes_field(row) for row in changed) and not self._leaving

    def _takes_field(self, row: ItemRow) -> bool:
        item = next(line.item for line in self.visit.stop.lines if line.item.id == row.item_id)
        said = self.dialogue.take_field(item, row.field.value)
        self._answer(said)
        return said.accepted and self.conversation.questions.doubtful is None

    def _take_field(self, row: ItemRow) -> None:
        if not row.field.value.strip() or self._takes_field(row):
            self.action_move(1)
        elif self.conversation.questions.doubtful is not None:
            self.set_focus(self.query_one("#quick"))

    def on_descendant_focus(self) -> None:
        """Show how the item in focus is looked at, and why."""
        row = self.focused.parent if self.focused else None
        line = next((x for x in self.visit.stop.lines if isinstance(row, ItemRow) and x.item.id == row.item_id), None)
        write(self.query_one("#hint", Static), Content(self._about(line)))

    def _about(self, line: ItemLine | None) -> str:
        guess = guess_text(self.visit.session, self.visit.stop.station_id, line.item.id) if line is not None else ""
        return f"{guess} {how_and_why(line)}".strip()

    def action_all_well(self) -> None:
        """Everything that may be is answered as well; what stands typed is taken first."""
        if self._takes_what_is_typed():
            self._answer(self.dialogue.press("+"))

    def action_undo(self) -> None:
        """Take the last thing back."""
        self._answer(self.dialogue.press("f6"))

    def action_leave_out(self) -> None:
        """Leave the rest out, with a reason; what stands typed is taken first."""
        if self._takes_what_is_typed():
            self._answer(self.dialogue.press("-"))

    def action_find(self) -> None:
        """Look for a station and go there."""
        if self._takes_what_is_typed():
            find_station(self, self.visit.session, lambda way: self._answer(self.dialogue.lead(way)))

    def take_typed(self, key: str) -> None:
        """Do what a letter typed with Enter behind it does."""
        self._answer(self.dialogue.answer(key))

    def help_lines(self) -> tuple[str, ...]:
        """The item whose field is in focus, else what is asked."""
        row = self.focused.parent if self.focused else None
        return self.dialogue.help(row.item_id if isinstance(row, ItemRow) else "")

    def action_note(self) -> None:
        """Write a note on this station."""
        self._answer(self.dialogue.press("*"))

    def action_correct(self) -> None:
        """Work out the correction now, where there is something to correct."""
        why_not = self.dialogue.why_no_correction
        if why_not:
            self._say(why_not)
        elif self._takes_what_is_typed():
            self._answer(self.dialogue.press("f9"))

    def action_back(self) -> None:
        """Back to the whole walk; what stands typed is taken first, and what cannot be is left where it is meant."""
        typed = self.query_one("#quick", QuickLine).value.strip()
        if self.dialogue.was_warned or (typed and typed == self._refused) or self._takes_what_is_typed():
            self._answer(self.dialogue.press("esc"))
        elif typed:
            self._refused = typed

    def action_move(self, by: int) -> None:
        """Move between the line and the fields; what stands in a field that is left is taken."""
        row = self.focused.parent if isinstance(self.focused, QuickLine) else None
        if isinstance(row, ItemRow) and row.has_new_text and not self._takes_field(row):
            return
        fields = [self.query_one("#quick", QuickLine), *(row.field for row in self.query(ItemRow))]
        here = fields.index(self.focused) if self.focused in fields else 0
        self.set_focus(fields[(here + by) % len(fields)])

    def _answer(self, said: Reply) -> None:
        if self.dialogue.keys_alone:
            self._quiet_until = monotonic() + self.settle_s
        rows = {row.item_id: row for row in self.query(ItemRow)}
        for shown in said.shown:
            if shown.item_id in rows:
                rows[shown.item_id].judge(shown.sign, shown.text, shown.value)
        if said.message or said.shown:
            self._say(said.message)
        self.query_one("#quick", QuickLine).placeholder = order_of(self.visit)
        ask_in_between(self, self.dialogue, self._answer)
        if said.way is not None:
            self._go(said.way)

    def _go(self, way: Way) -> None:
        self._leaving = not isinstance(way, ToWalk)
        self.post_message(Lead(way))

    def on_stay_here(self) -> None:
        """The way on could not be gone: take keys again."""
        self._leaving = False

    def on_typed_too_early(self, event: TypedTooEarly) -> None:
        """Say it below the line, above what is asked."""
        event.stop()
        self._say("\n".join(part for part in (event.sentence, self.conversation.questions.text) if part))

    def _say(self, text: str) -> None:
        mark = Content("? " if self.conversation.questions.open or self.dialogue.in_hand is not None else "▶ ")
        write(self.query_one("#mark", Static), mark, same_room=True)
        write(self.query_one("#message", Static), Content(text))
