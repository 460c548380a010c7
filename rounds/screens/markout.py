"""Marking out on screen: a form that lays the channel out anew at every key, and views of what comes of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input, Static

from rounds.errors import RoundsError
from rounds.farm.rewriting import Change, write
from rounds.markout.plan import ChannelPlan
from rounds.screens.markout_form import MarkoutForm
from rounds.screens.markout_work import (
    Outcome,
    View,
    change_lines,
    change_of,
    mistake_lines,
    print_pdf,
    view_lines,
    work_out,
)
from rounds.screens.messages import BackToWalk
from rounds.units import warm_up
from rounds.widgets.background import in_background
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine

if TYPE_CHECKING:
    from rounds.walk.round import Round
    from rounds.walk.session import Session


VIEWS: tuple[View, ...] = ("results", "drawing", "lists")
"""In the order in which one key shows them."""


class MarkoutScreen(Screen[None]):
    """Lays out a channel while it is typed.

    Keys that move the cursor are priority bindings and set the focus at once, so that whoever types ahead types into
    the right field.
    """

    CSS_PATH = "markout.tcss"
    PAGE: ClassVar[str] = "markout"
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings_of(
            "markout",
            {
                "view": "next_view",
                "part-back": "group(-1)",
                "part-on": "group(1)",
                "take-in": "into_farm",
                "print": "pdf",
            },
            first=("f5", "f7"),
        ),
        Binding("down,enter,tab", "step(1)", "next field", id="markout.next", show=False, priority=True),
        Binding("up,shift+tab", "step(-1)", "field before", id="markout.before", show=False, priority=True),
        Binding("pagedown", "scroll_view(1)", "scroll down", id="markout.down", show=False),
        Binding("pageup", "scroll_view(-1)", "scroll up", id="markout.up", show=False),
    ]

    def __init__(self, farm_folder: Path | None = None) -> None:
        super().__init__()
        self._farm = farm_folder
        self._view: View = "results"
        self._outcome = Outcome(plan=None)
        self._change: Change | None = None
        self._untouched: dict[str, str] = {}
        self._warned = False
        self._not_printed = "", ""
        """The PDF file that was named and why it was not printed: said at that field until another is named."""

    def compose(self) -> ComposeResult:
        """Head; form and help at the left, the view at the right; keys."""
        yield Head("Mark out a channel")
        with Horizontal(id="both"):
            with Vertical(id="left"):
                yield MarkoutForm(with_farm=self._farm is not None)
                yield Static(id="help")
            with VerticalScroll(id="view", can_focus=False):
                yield Static(id="lines")
        yield KeyLine()

    def on_mount(self) -> None:
        """Load the units off the event loop, and show what is wanted."""
        in_background(self, "loading the units", warm_up)
        self._untouched = self._texts()
        self._work_out()

    @on(Input.Changed)
    def work_out_anew(self, event: Input.Changed) -> None:
        """Every key lays the channel out anew."""
        event.stop()
        self._work_out()

    def on_descendant_focus(self, _event: events.DescendantFocus) -> None:
        """Say what the field with the cursor is."""
        self._help()

    def on_resize(self) -> None:
        """The drawing fits the room there is."""
        self.call_after_refresh(self._show)

    def action_next_view(self) -> None:
        """Show the next of results, drawing and lists."""
        here = VIEWS.index(self._view) if self._view in VIEWS else -1
        self.show_view(VIEWS[(here + 1) % len(VIEWS)])

    def show_view(self, view: View) -> None:
        """Show one of the views."""
        self._view = view
        self._show()
        self.query_one("#view").scroll_home(animate=False)

    def action_group(self, by: int) -> None:
        """Show the next or previous group of fields."""
        form = self.query_one(MarkoutForm)
        form.open(form.at + by)

    def action_step(self, by: int) -> None:
        """Go to the next or previous field."""
        self.query_one(MarkoutForm).step(by)

    def action_scroll_view(self, by: int) -> None:
        """Scroll the view, which itself never takes the cursor."""
        view = self.query_one("#view")
        view.scroll_relative(y=by * max(1, view.size.height - 2), animate=False)

    def action_into_farm(self) -> None:
        """Show the difference first; pressed again, write exactly what was shown."""
        if self._outcome.plan is None or self._farm is None:
            self._say("✗ There is no plan to write yet." if self._farm else "✗ No farm is open.")
        elif self._view != "farm":
            self.query_one(MarkoutForm).open_named("Into the farm")
            self.show_view("farm")
        elif self._change is not None and self._change.is_new:
            self._write_into_farm(self._change)

    def action_pdf(self) -> None:
        """Print into the file that is named."""
        if self._outcome.plan is None:
            self._say("✗ There is no plan to print yet.")
            return
        form = self.query_one(MarkoutForm)
        try:
            path = print_pdf(self._outcome.plan, form.texts(), self._farm or Path.cwd())
        except RoundsError as error:
            self._not_printed = form.texts().get("pdf", ""), f"✗ {error}"
            form.open_named("On paper")
            self._help()
            return
        self._say(f"Written: {path}")

    def action_back(self) -> None:
        """Back to the walk; what was typed is asked about once, since nothing keeps it."""
        typed = self._texts()
        if typed != self._untouched and not self._warned:
            self._warned = True
            self._say("What is typed here is kept only by F12 or Ctrl+R. Esc once more leaves it.")
            return
        self.post_message(BackToWalk())

    def _write_into_farm(self, change: Change) -> None:
        try:
            write(change)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._show()
        self._say(f"Written into {change.path.name}. It is read when the farm is opened again.")

    def _work_out(self) -> None:
        form = self.query_one(MarkoutForm)
        self._outcome = work_out(form.texts())
        form.mark(each.field for each in self._outcome.mistakes if not each.is_missing)
        self._help()
        self._show()

    def _show(self) -> None:
        self._change = None
        if self._outcome.plan is None:
            lines = mistake_lines(self._outcome)
        elif self._view == "farm":
            lines = self._preview(self._outcome.plan)
        else:
            view = self.query_one("#view")
            size = (max(40, view.size.width - 2), max(16, view.size.height))
            lines = view_lines(self._view, self._outcome.plan, self._texts(), size)
        self.query_one("#lines", Static).update(Content("\n".join(lines)))

    def _preview(self, worked_out: ChannelPlan) -> list[str]:
        try:
            self._change = change_of(worked_out, self._texts(), self._farm)
        except RoundsError as error:
            return [f"✗ {error}"]
        return change_lines(self._change)

    def _texts(self) -> dict[str, str]:
        return self.query_one(MarkoutForm).texts()

    def _help(self) -> None:
        field = self.query_one(MarkoutForm).focused_field()
        if field is not None:
            mistakes = [str(m) for m in self._outcome.mistakes if m.field == field.name]
            words = mistakes[0] if mistakes else f"{field.help}; such as {field.example}"
            name, why = self._not_printed
            self._say(why if why and field.name == "pdf" and self._texts().get("pdf", "") == name else words)

    def _say(self, words: str) -> None:
        self.query_one("#help", Static).update(Content(words), layout=False)


def build(session: Session, _walk: Round | None) -> Screen[Any]:
    """The screen for the registry."""
    return MarkoutScreen(session.farm.folder)
