"""Relief: handing the rounds to a helper before leaving, and taking them back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Input, Static

from rounds.errors import BadInput, RoundsError
from rounds.history.merge import MergePreview
from rounds.relief.sheet import Relief, relief_for
from rounds.screens.messages import BackToWalk
from rounds.screens.prompt import PromptScreen
from rounds.screens.relief_work import made_bundle, made_plan, made_report, made_sheet, seen, taken_in
from rounds.walk.round import Round
from rounds.walk.session import Session
from rounds.widgets.background import in_background
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine
from rounds.widgets.quick_line import QuickLine

WHAT = """\
Before you leave
  Ctrl+R  the relief sheet, as PDF and HTML
  Ctrl+G  the bundle for the helper's own laptop
  Ctrl+L  top-up tanks, change-outs and numbered bottles to prepare
When you are back
  F12     take in what the helper hands over
  Ctrl+T  the time away on one page
  Ctrl+N  type a filled sheet in, day by day
  F3      write a question to the helper down"""


class ReliefScreen(Screen[None]):
    """Who takes over, on which days, and everything that follows from it."""

    CSS_PATH = "relief.tcss"
    PAGE: ClassVar[str] = "relief"
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings_of(
            "relief",
            {
                "print": "sheet",
                "prepare": "plan",
                "time-away": "report",
                "card": "paper",
                "note": "ask",
            },
        ),
        Binding("up", "move(-1)", show=False, id="relief.up"),
        Binding("down", "move(1)", show=False, id="relief.down"),
        Binding("pageup", "scroll(-1)", show=False, id="relief.page_up"),
        Binding("pagedown", "scroll(1)", show=False, id="relief.page_down"),
    ]

    @dataclass
    class Done(Message):
        """A piece of work is done, or could not be."""

        head: str
        text: str = ""
        merge: MergePreview | None = None

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._folder = session.farm.folder / "relief"

    def compose(self) -> ComposeResult:
        """Who and when, what came of it, keys."""
        tomorrow = self.session.now().date() + timedelta(days=1)
        helpers = [person.id for person in self.session.farm.people if person.role == "helper"]
        yield Head("Relief", "Enter goes to the next field")
        for field, label, value in (
            ("name", "Helper", next(iter(helpers), "")),
            ("first", "First day away", tomorrow.isoformat()),
            ("last", "Last day away", (tomorrow + timedelta(days=6)).isoformat()),
        ):
            with Horizontal(classes="field"):
                yield Static(label, classes="label")
                yield QuickLine(value, id=field, select_on_focus=True)
        yield Static("", id="message")
        with VerticalScroll(id="page", can_focus=False):
            yield Static(Content(WHAT), id="text")
        yield KeyLine()

    def on_mount(self) -> None:
        """Begin with the helper."""
        self.query_one("#name").focus()

    @on(Input.Submitted)
    def next_field(self) -> None:
        """Enter goes on."""
        self.action_move(1)

    @on(Done)
    def show(self, done: Done) -> None:
        """Show what came of it; what may be taken in is asked about."""
        self._say(done.head)
        if done.text:
            self.query_one("#text", Static).update(Content(done.text))
            self.query_one("#page").scroll_home(animate=False)
        merge = done.merge
        if merge is not None and merge.new:
            question = f"Take in {len(merge.new)} new records? y and Enter; Esc leaves it."
            self.app.push_screen(PromptScreen(question), lambda text: self._confirmed(merge, text))

    def action_sheet(self) -> None:
        """Write the sheet."""
        self._with_relief(lambda relief: self._do(lambda: made_sheet(self.session, relief, self._folder)))

    def action_bundle(self) -> None:
        """Write the bundle."""
        self._with_relief(lambda relief: self._do(lambda: made_bundle(self.session, relief, self._folder)))

    def action_plan(self) -> None:
        """Work out what can be prepared."""
        self._with_relief(lambda relief: self._do(lambda: made_plan(self.session, relief)))

    def action_report(self) -> None:
        """Show the time away."""
        self._with_relief(lambda relief: self._do(lambda: made_report(self.session, relief)))

    def action_paper(self) -> None:
        """Type a filled sheet in."""
        self._with_relief(self._open_paper)

    def action_take_in(self) -> None:
        """Ask what is handed over."""
        question = "Which bundle, folder or stick does the helper hand over? Its path:"
        self.app.push_screen(PromptScreen(question), self._see)

    def action_ask(self) -> None:
        """Write a question down."""
        self.app.push_screen(PromptScreen("What do you want to ask the helper?"), self._asked)

    def action_back(self) -> None:
        """Back to the walk."""
        self.post_message(BackToWalk())

    def action_move(self, by: int) -> None:
        """Move between the fields."""
        fields = list(self.query(QuickLine))
        here = fields.index(self.focused) if isinstance(self.focused, QuickLine) else 0
        fields[(here + by) % len(fields)].focus()

    def action_scroll(self, by: int) -> None:
        """Move the page."""
        page = self.query_one("#page", VerticalScroll)
        (page.scroll_page_down if by > 0 else page.scroll_page_up)(animate=False)

    def _with_relief(self, then: Callable[[Relief], object]) -> None:
        try:
            relief = self._relief()
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        then(relief)

    def _relief(self) -> Relief:
        name, first, last = (self.query_one(f"#{field}", QuickLine).value for field in ("name", "first", "last"))
        return relief_for(self.session, name, _day(first), _day(last))

    def _open_paper(self, relief: Relief) -> None:
        from rounds.screens.paper_days import PaperDaysScreen

        self.app.push_screen(PaperDaysScreen(self.session, relief.person, relief.days))

    def _do(self, make: Callable[[], tuple[str, str]]) -> None:
        self._work(lambda: self.Done(*make()))

    def _work(self, make: Callable[[], Done]) -> None:
        """Have something done beside the screen; what people can mend is said as it is."""

        def work() -> ReliefScreen.Done:
            try:
                return make()
            except RoundsError as error:
                return self.Done(f"✗ {error}")

        fail = lambda text: self.post_message(self.Done(f"✗ {text}"))  # noqa: E731
        in_background(self, "this", work, self.post_message, failed=fail)

    def _see(self, path: str | None) -> None:
        if path:
            self._work(lambda: self._look_into(Path(path).expanduser()))

    def _look_into(self, path: Path) -> Done:
        merge, text = seen(self.session, path)
        return self.Done("Nothing is written yet." if merge.new else "Nothing in it is new.", text, merge)

    def _confirmed(self, merge: MergePreview, text: str | None) -> None:
        if text is None or text.casefold() not in ("y", "yes"):
            self._say("Nothing was taken in.")
            return
        self._do(lambda: taken_in(self.session, merge))

    def _asked(self, text: str | None) -> None:
        from rounds.relief.taking_back import ask_helper

        if not text:
            return
        try:
            ask_helper(self.session, "", text)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._say("Written down as a question to the helper.")

    def _say(self, text: str) -> None:
        self.query_one("#message", Static).update(Content(text))


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise BadInput(f"“{text[:20]}” is not a day.", "A day such as 2026-11-25 is expected.") from error


def build(session: Session, _walk: Round | None) -> Screen[Any]:
    """The screen for the registry."""
    return ReliefScreen(session)
