"""The emergency card, in letters that can be read with wet glasses: whom to call, the main switch, what to do first."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from rounds.farm.farm import Farm
from rounds.relief.emergency import NO_NUMBERS, first_acts, numbers, places
from rounds.relief.words import FIRST_OF_ALL
from rounds.text import clean_line


class CallScreen(ModalScreen[None]):
    """Shows numbers, places and first acts; any of several keys goes back."""

    CSS_PATH = "call.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f8,exclamation_mark,enter,q", "dismiss(None)", "back", id="call.back"),
        Binding("space", "read_on", show=False, id="call.read_on"),
    ]

    def __init__(self, farm: Farm) -> None:
        super().__init__()
        self._farm = farm

    def compose(self) -> ComposeResult:
        """Numbers first, then places, then what is done first."""
        with VerticalScroll(id="window"):
            yield Static(Content(f"{FIRST_OF_ALL} Esc goes back, Space reads on."), classes="what")
            for count, (phone, who) in enumerate(numbers(self._farm), 1):
                yield Static(Content(f"{count}  {wide(phone)}"), classes="number")
                yield Static(Content(f"   {who}"), classes="what")
            if not self._farm.contacts:
                yield Static(Content(NO_NUMBERS), classes="number")
            there = places(self._farm)
            yield Static(Content("\n".join(there[:1])), classes="switch")
            for act in first_acts(self._farm):
                yield Static(Content(f"! {act}"), classes="act")
            yield Static(Content("\n".join(there[1:])), id="places")

    def action_read_on(self) -> None:
        """Show what has no room; behind the end it begins again."""
        window = self.query_one("#window")
        if window.scroll_offset.y >= window.max_scroll_y:
            window.scroll_home(animate=False)
        else:
            window.scroll_page_down(animate=False)


def wide(phone: str) -> str:
    """A number with room between its signs.

    Examples
    --------
    >>> wide("555 0101")
    '5 5 5   0 1 0 1'
    """
    return "   ".join(" ".join(group) for group in clean_line(phone).split())
