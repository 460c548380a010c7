"""An input that takes everything, but leaves a few keys to the screen while it is empty."""

from __future__ import annotations

from textual.events import Key
from textual.widgets import Input

LEFT_TO_THE_SCREEN = frozenset("+/*")
"""Keys of the number pad that command the screen while nothing is typed."""


class QuickLine(Input):
    """One line for all readings of a station. Markup in it is only text."""

    DEFAULT_CSS = """
    QuickLine { height: 1; border: none; padding: 0; background: $surface; }
    QuickLine:focus { border: none; background: $surface-lighten-1; text-style: bold; }
    """

    def on_key(self, event: Key) -> None:
        """Let those keys go on to the screen's bindings instead of being typed."""
        if not self.value and event.character in LEFT_TO_THE_SCREEN:
            event.prevent_default()

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Leave `+`, `/` and `*` to the screen while the line is empty."""
        if not self.value and character in LEFT_TO_THE_SCREEN:
            return False
        return super().check_consume_key(key, character)
