"""The bindings of a screen, out of the table of keys."""

from __future__ import annotations

from collections.abc import Mapping

from textual.binding import Binding, BindingType

from rounds.walk.key_table import MEANINGS, PAGES, name_of

NAMES = {
    "+": "plus", "-": "minus", "*": "asterisk", "/": "slash", "?": "question_mark", ":": "colon",
    "!": "exclamation_mark", "esc": "escape",
}  # fmt: skip
"""Keys as the toolkit calls them, where it calls them otherwise."""


def bindings_of(
    page: str, actions: Mapping[str, str] = {}, *, elsewhere: tuple[str, ...] = (), first: tuple[str, ...] = ()
) -> list[BindingType]:
    """The bindings of a page, in the order of the table.

    A letter of a page with a line is typed, and bound to nothing; of a form only keys that are no text are bound.

    Parameters
    ----------
    actions : mapping of str to str
        By command; a command without one is an action of the screen with the same name.
    elsewhere : tuple of str
        Keys that something on the screen binds by itself.
    first : tuple of str
        Keys that go before whatever has the focus.
    """
    here = PAGES[page]
    found: list[BindingType] = []
    for key in here.listed:
        keys = bound(key, here.keyboard)
        if key not in elsewhere and keys:
            command = MEANINGS[key].command
            action = actions.get(command, command.replace("-", "_"))
            told = name_of(key if keys[0] == NAMES.get(key, key) or here.keyboard == "line" else keys[0])
            found.append(
                Binding(
                    ",".join(keys),
                    action,
                    here.word(key),
                    key_display=told,
                    id=f"{page}.{command}",
                    priority=key in first,
                )
            )
    return found


def bound(key: str, keyboard: str) -> list[str]:
    """The keys that act at once for a key of a page, as the toolkit calls them."""
    is_text = len(key) == 1 and (keyboard == "form" or (keyboard == "line" and (key.isalpha() or key == "-")))
    return [*([] if is_text else [NAMES.get(key, key)]), *MEANINGS[key].also]
