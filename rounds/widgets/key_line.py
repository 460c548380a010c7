"""The keys of the screen in front, on one or two lines at the bottom."""

from __future__ import annotations

from typing import Any

from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from rounds.widgets.writing import write

NAMES = {"escape": "Esc", "enter": "Enter", "up": "↑", "down": "↓", "left": "←", "right": "→", "space": "Space"}
FIRST = "CALL"
"""Stands before all others where not all have room."""
MOST_LINES = 2


class KeyLine(Static):
    """Shows each key that does something now, with its word, as far as the width goes."""

    DEFAULT_CSS = """
    KeyLine { dock: bottom; height: auto; max-height: 2; padding: 0 1; background: $panel; }
    """

    def on_mount(self) -> None:
        """Follow the screen's keys."""
        self.screen.bindings_updated_signal.subscribe(self, self._show)
        self._show(self.screen)

    def on_resize(self) -> None:
        """As many keys as there is room for."""
        self._show(self.screen)

    def _show(self, screen: Screen[Any]) -> None:
        found = {word: key for key, word in typed_commands(screen)}
        for active in screen.active_bindings.values():
            binding = active.binding
            if binding.show and active.enabled and binding.description:
                found.setdefault(binding.description, binding.key_display or key_name(binding.key))
        width = self.size.width - 2 if self.size.width else 78
        line = _line(found, width)
        if line.plain.count("\n") >= MOST_LINES:
            line = _line({word: found[word] for word in sorted(found, key=lambda word: word != FIRST)}, width)
        write(self, line)


def typed_commands(screen: Screen[Any]) -> list[tuple[str, str]]:
    """What is typed on the line of a screen and ends with Enter, each with its word."""
    told = getattr(screen, "typed_commands", None)
    return list(told()) if callable(told) else []


def _line(found: dict[str, str], width: int) -> Content:
    parts: list[tuple[str, str] | str] = []
    room = width
    for word, key in found.items():
        length = len(key) + len(word) + 1
        if length > room:
            parts.append("\n")
            room = width
        parts += [(key, "bold"), f" {word}  "]
        room -= length + 2
    return Content.assemble(*parts)


def key_name(key: str) -> str:
    """A key as it stands on the keyboard."""
    return NAMES.get(key, key.upper() if key.startswith("f") and key[1:].isdigit() else key)
