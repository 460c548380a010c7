"""The keys of the screen in front, on one or two lines at the bottom; above them, what the app has to say."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from rounds.walk.key_table import MEANINGS, PAGES, name_of
from rounds.widgets.writing import write

NAMES = {"escape": "Esc", "enter": "Enter", "up": "↑", "down": "↓", "left": "←", "right": "→", "space": "Space"}
LAST = tuple(MEANINGS[key].word for key in ("?", ":", "!"))
"""They stand at the right end, whatever else has no room."""
STAYS = ("Enter", "Esc")
"""The ways on and back go last."""
MOST_LINES = 2


class KeyLine(Vertical):
    """Shows each key that does something now, with its word, as far as the width goes; above it the messages."""

    DEFAULT_CSS = """
    KeyLine { dock: bottom; height: auto; }
    KeyLine > .keys { height: auto; max-height: 2; padding: 0 1; background: $panel; }
    KeyLine > .notices { height: auto; max-height: 4; padding: 0 1; text-style: bold; display: none; }
    KeyLine.-told > .notices { display: block; }
    """

    def compose(self) -> ComposeResult:
        """Messages, then keys."""
        yield Static("", classes="notices")
        yield Static("", classes="keys")

    def on_mount(self) -> None:
        """Follow the screen's keys."""
        self.screen.bindings_updated_signal.subscribe(self, self._show)
        self._show(self.screen)
        self.tell(getattr(self.app, "notices_now", ()))

    def on_resize(self) -> None:
        """As many keys as there is room for."""
        self._show(self.screen)

    def tell(self, notices: Iterable[str]) -> None:
        """Show these messages above the keys; none take no room."""
        lines = tuple(notices)
        if self.children:
            write(self.query_one(".notices", Static), Content("\n".join(lines)))
            self.set_class(bool(lines), "-told")

    def _show(self, screen: Screen[Any]) -> None:
        if not self.children:
            return
        found = {word: _as_pressed(key) for key, word in typed_commands(screen)}
        page = PAGES.get(getattr(screen, "PAGE", ""))
        is_form = page is not None and page.keyboard == "form"
        for active in screen.active_bindings.values():
            binding = active.binding
            if binding.show and active.enabled and binding.description:
                found.setdefault(binding.description, _key_of(binding, is_form=is_form))
        width = self.size.width - 2 if self.size.width else 78
        write(self.query_one(".keys", Static), _fitted(found, width))


def _key_of(binding: Binding, *, is_form: bool) -> str:
    """The key as it stands on the keyboard; where signs are text, the other one that does the same."""
    key = binding.key_display or key_name(binding.key)
    also = MEANINGS[key].also if is_form and key in MEANINGS and len(key) == 1 else ()
    return name_of(also[0]) if also else key


def typed_commands(screen: Screen[Any]) -> list[tuple[str, str]]:
    """What is typed on the line of a screen and ends with Enter, each with its word."""
    told = getattr(screen, "typed_commands", None)
    return list(told()) if callable(told) else []


def _as_pressed(key: str) -> str:
    """A lone letter without the Enter behind it: there is little room, and it stands on the line until Enter."""
    letter = key.removesuffix(" Enter")
    return letter if len(letter) == 1 else key


def _fitted(found: dict[str, str], width: int) -> Content:
    """As many keys as have room on the lines; those at the right end always."""
    last = {word: found[word] for word in LAST if word in found}
    others = {word: key for word, key in found.items() if word not in last}
    while True:
        line = _line(others | last, width)
        if line.plain.count("\n") < MOST_LINES or not others:
            return line
        others.pop(next((word for word in reversed(others) if others[word] not in STAYS), next(iter(others))))


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
