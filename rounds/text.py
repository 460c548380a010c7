"""Text that came from somewhere else, made harmless before it is stored or shown.

A terminal obeys escape bytes, right-to-left marks reorder what follows, and a lone surrogate ends a write. Nobody who
writes down a reading means any of them, so each becomes U+FFFD, where it can be seen.
"""

import re
import sys
import unicodedata

REPLACEMENT = "\ufffd"
LINE_LIMIT = 200
TEXT_LIMIT = 4_000
_UNWANTED_CATEGORIES = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
_LINE_BREAKS = re.compile("\r\n?|[\u0085\u2028\u2029\v\f]")


def is_unwanted(character: str) -> bool:
    """Tell whether a character is control, format, surrogate, private or unassigned (line feed aside).

    Examples
    --------
    >>> is_unwanted("\\x1b"), is_unwanted("ü")
    (True, False)
    """
    return character != "\n" and unicodedata.category(character) in _UNWANTED_CATEGORIES


def clean(text: str, limit: int = TEXT_LIMIT) -> str:
    """Make a foreign text of several lines harmless, and cut it at `limit` characters.

    Parameters
    ----------
    text : str
        Anything, lone surrogates too.
    limit : int
        Longest result, the mark of the cut included. [characters]

    Returns
    -------
    str
        Line feeds stay, tabs become spaces; control, format, private and unassigned characters become U+FFFD.

    Examples
    --------
    >>> clean("roots\\tbrown\\r\\nsmell \\x1b[31mfine")
    'roots brown\\nsmell \ufffd[31mfine'
    """
    short = text if len(text) <= limit else text[: max(limit - 1, 0)] + "…"
    if short.isprintable():
        return short
    broken = _LINE_BREAKS.sub("\n", short).replace("\t", " ")
    return "".join(REPLACEMENT if is_unwanted(character) else character for character in broken)


def clean_line(text: str, limit: int = LINE_LIMIT) -> str:
    """Make a foreign text harmless and keep it on one line.

    Examples
    --------
    >>> clean_line("hen house\\nnorth")
    'hen house north'
    """
    return clean(text, limit).replace("\n", " ")


def is_clean(text: str) -> bool:
    """Tell whether `clean` would leave the text as it is, its length aside.

    Examples
    --------
    >>> is_clean("Stall süd"), is_clean("a\\u202eb")
    (True, False)
    """
    return clean(text, sys.maxsize) == text
