"""An input that takes everything, but leaves a few keys to the screen while it is empty."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.events import Key
from textual.geometry import Size
from textual.reactive import Reactive
from textual.widgets import Input
from textual.widgets.input import Selection

from rounds.walk.key_table import PAGES


class QuickLine(Input):
    """One line for all readings of a station. Markup in it is only text."""

    virtual_size = Reactive(Size(0, 0), layout=False)
    """How long the text is: the line has its room whatever is typed, so no key lays out the screen anew."""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", show=False, id="line.up"),
        Binding("down", "step(1)", "fields", key_display="↓", id="line.down"),
    ]
    DEFAULT_CSS = """
    QuickLine { height: 1; border: none; padding: 0; background: $surface; }
    QuickLine:focus { border: none; background: $surface-lighten-1; text-style: bold; }
    """

    def on_key(self, event: Key) -> None:
        """Let those keys go on to the screen's bindings instead of being typed."""
        if self._is_free and self.leaves_to_the_screen(event.character):
            event.prevent_default()

    def leaves_to_the_screen(self, character: str | None) -> bool:
        """Whether a character is a sign that commands the page it stands on."""
        page = PAGES.get(getattr(self.screen, "PAGE", ""))
        return page is not None and character in page.signs

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Leave the signs of the page to the screen while the line is empty."""
        if self._is_free and self.leaves_to_the_screen(character):
            return False
        return super().check_consume_key(key, character)

    async def action_submit(self) -> None:
        """Hand Enter to a screen that takes lines: here it comes behind everything that was typed before it."""
        take = getattr(self.screen, "action_take", None)
        if callable(take):
            take()
        else:
            await super().action_submit()

    def action_step(self, by: int) -> None:
        """Hand an arrow to a screen that moves between lines, in its turn as well."""
        move = getattr(self.screen, "action_move", None)
        if callable(move):
            move(by)

    def offer_again(self) -> None:
        """Keep what was refused, selected: the next key begins anew, an arrow goes into it."""
        self.selection = Selection(0, len(self.value))

    @property
    def _is_free(self) -> bool:
        """Whether nothing is typed, or only what was refused and is selected as a whole."""
        return not self.value or self.selection == Selection(0, len(self.value))
