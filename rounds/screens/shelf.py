"""The shelf: what is left, what wants attention, and a count typed in."""

from __future__ import annotations

from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.errors import RoundsError
from rounds.screens.messages import BackToWalk, Lead
from rounds.screens.prompt import PromptScreen
from rounds.units import show
from rounds.walk.measuring.leading import measured_with
from rounds.walk.round import Round
from rounds.walk.session import Session
from rounds.walk.stock import ShelfLine, count_product, read_amount, shelf_lines, strength_text
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine


class Products(OptionList):
    """The products; Enter counts one."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "select", "count it", id="shelf.count")]


class ShelfScreen(Screen[None]):
    """Lists the products; Enter counts the one under the bar."""

    CSS_PATH = "shelf.tcss"
    PAGE: ClassVar[str] = "shelf"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of("shelf", {"undo": "app.undo"}, elsewhere=("enter",))

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._lines: list[ShelfLine] = []

    def compose(self) -> ComposeResult:
        """Head, products, message, keys."""
        yield Head("Shelf", "what was poured is taken off")
        yield Products(id="products", markup=False, compact=True)
        yield Static("", id="detail")
        yield Static("", id="message")
        yield KeyLine()

    def on_mount(self) -> None:
        """Show what is there."""
        self._show()

    @on(OptionList.OptionHighlighted)
    def show_detail(self) -> None:
        """Where it stands and what to know of it."""
        line = self._under_bar()
        parts = [line.product.place or "", line.product.note] if line else []
        self.query_one("#detail", Static).update(Content(" · ".join(part for part in parts if part)))

    @on(OptionList.OptionSelected)
    def count(self) -> None:
        """Type what is there now."""
        line = self._under_bar()
        if line is not None:
            question = f"How much {line.product.name} is there now, in {line.product.unit}?"
            prompt = PromptScreen(question, check=lambda text: read_amount(self.session, line.product, text))
            self.app.push_screen(prompt, lambda text: self._count(line, text))

    def action_measure(self) -> None:
        """Measure what the product under the bar is for: what a part does to the EC, what acid a water takes."""
        line = self._under_bar()
        way = None if line is None else measured_with(self.session.farm, line.product)
        if isinstance(way, str) or way is None:
            self.query_one("#message", Static).update(Content(way or "Nothing stands here."))
        else:
            self.post_message(Lead(way))

    def action_back(self) -> None:
        """Back to the walk."""
        self.post_message(BackToWalk())

    def _count(self, line: ShelfLine, text: str | None) -> None:
        if text is None:
            return
        try:
            count_product(self.session, line.product, text)
        except RoundsError as error:
            self.query_one("#message", Static).update(Content(f"✗ {error}"))
            return
        self._show()
        self.query_one("#message", Static).update(Content(f"Written down: {line.product.name} {text}."))

    def renew(self) -> None:
        """Something was taken back."""
        self._show()

    def _show(self) -> None:
        self._lines = shelf_lines(self.session)
        products = self.query_one("#products", OptionList)
        here = products.highlighted or 0
        products.clear_options()
        products.add_options([Option(Content(_text(line))) for line in self._lines])
        if self._lines:
            products.highlighted = min(here, len(self._lines) - 1)
        products.focus()

    def _under_bar(self) -> ShelfLine | None:
        index = self.query_one("#products", OptionList).highlighted
        return self._lines[index] if index is not None and index < len(self._lines) else None


def _text(line: ShelfLine) -> str:
    sign = "!" if line.concern else " "
    amount = show(line.amount, line.product.unit)
    used = f"{line.per_week:.2g} a week" if line.per_week else ""
    return (
        f"{sign} {line.product.name:<34.34} {strength_text(line.product):<13} {amount:>10}  {used:<13} {line.concern}"
    )


def build(session: Session, _walk: Round | None) -> Screen[Any]:
    """The screen for the registry."""
    return ShelfScreen(session)
