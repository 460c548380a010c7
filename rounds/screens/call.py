"""Whom to call, in letters that can be read with wet glasses: the contacts in their order, and where things are."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from rounds.farm.farm import Farm
from rounds.text import clean_line


class CallScreen(ModalScreen[None]):
    """Shows the numbers, widely set; any of several keys goes back."""

    CSS_PATH = "call.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,f8,enter,q", "dismiss(None)", "back", id="call.back")]

    def __init__(self, farm: Farm) -> None:
        super().__init__()
        self._farm = farm

    def compose(self) -> ComposeResult:
        """Numbers first, then places."""
        with VerticalScroll(id="window"):
            for number, contact in enumerate(self._farm.contacts, 1):
                yield Static(Content(f"{number}  {wide(contact.phone)}"), classes="number")
                yield Static(Content(clean_line(f"   {contact.name}: {contact.what}")), classes="what")
            if not self._farm.contacts:
                yield Static(Content("No numbers are entered. The relief sheet has room for them."), classes="number")
            places = [f"{key.replace('_', ' ')}: {clean_line(text)}" for key, text in self._farm.where.items()]
            yield Static(Content("\n".join(places)), id="places")
            yield Static(Content("Esc goes back."), classes="what")


def wide(phone: str) -> str:
    """A number with room between its signs.

    Examples
    --------
    >>> wide("555 0101")
    '5 5 5   0 1 0 1'
    """
    return "   ".join(" ".join(group) for group in clean_line(phone).split())
