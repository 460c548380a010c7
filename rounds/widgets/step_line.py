"""The line of a page on which Enter alone says something: it knows whether anything was typed since it was shown."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.events import Key

from rounds.widgets.quick_line import QuickLine


class StepLine(QuickLine):
    """Letters and numbers are text; Space and the signs of the page go to the screen, while nothing stands here."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "step(1)", show=False, id="line.down"),
    ]

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.cursor_blink = False
        self.was_typed_on = False
        """Whether anything was typed since the line was begun, even if it was erased again."""

    def on_key(self, event: Key) -> None:
        """Let Space go on to the screen, which reads on."""
        super().on_key(event)
        if event.character == " " and self._is_free:
            event.prevent_default()

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Leave Space to the screen while the line is empty."""
        if character == " " and self._is_free:
            return False
        return super().check_consume_key(key, character)

    def watch_value(self, value: str) -> None:
        """Remember that something was typed: Enter must know it at once, whatever messages are still under way."""
        self.was_typed_on = self.was_typed_on or bool(value)

    def begin(self) -> None:
        """Nothing was typed for what is shown now."""
        self.value = ""
        self.was_typed_on = False
