"""Texts in the characters that a printer font has: the built-in ones know western European letters only."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable

from rounds.errors import BadInput
from rounds.relief.model import tidy

_SPELLED = {
    "“": '"', "”": '"', "„": '"', "‘": "'", "’": "'", "‚": "'", "–": "-", "—": "-", "−": "-", "…": "...", "•": "·",
    "≤": "at most ", "≥": "at least ", "→": "to", "↪": ">", "✓": "ok", "▲": "above", "▼": "below", "⧗": "wait",
    "₂": "2", "₃": "3", "₄": "4", "€": "EUR", "\u202f": " ", "\u2009": " ", "ł": "l", "Ł": "L", "đ": "d",
    "Đ": "D", "ı": "i", "œ": "oe", "Œ": "OE",
}  # fmt: skip


def in_latin_1(text: str) -> str:
    """A text with what the built-in fonts lack spelled out; letters lose the accents those fonts do not have.

    Examples
    --------
    >>> in_latin_1("20 °C – “süß”, Čapek, ≤ 3")
    '20 °C - "süß", Capek, at most  3'
    """
    if text.isascii():
        return text
    return "".join(_SPELLED.get(c) or _plain(c) for c in text)


def in_built_in_fonts(character: str) -> bool:
    """Whether the built-in fonts have a character."""
    return character.encode("latin-1", "ignore") != b""


def refuse_unprintable(texts: Iterable[str], has: Callable[[str], bool]) -> None:
    """Say which character a font lacks, and where it stands.

    Raises
    ------
    BadInput
        With the first such character.
    """
    for text in texts:
        lacking = next((c for c in text if c != "\n" and not has(c)), None)
        if lacking is not None:
            where = tidy(text)[:40]
            raise BadInput(
                f"The printer font has no “{lacking}” (U+{ord(lacking):04X}), which stands in “{where}”.",
                "Print the HTML instead, or name a font file that has it with --font FILE.ttf.",
            )


def _plain(character: str) -> str:
    if in_built_in_fonts(character):
        return character
    bare = "".join(c for c in unicodedata.normalize("NFKD", character) if not unicodedata.combining(c))
    return bare if bare and all(map(in_built_in_fonts, bare)) else character
