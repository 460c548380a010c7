"""Which of the matters a typed line means: by the words of its sentence, its station, what it is about."""

from __future__ import annotations

import re
from collections.abc import Sequence

from rounds.walk.session import Session
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.words import name_of

_LEAST_LETTERS = 3
_ENDINGS = ("ing", "s", "es", "ed")


def meant(session: Session, matters: Sequence[OpenMatter], words: Sequence[str]) -> tuple[list[OpenMatter], list[str]]:
    """The matters that the first words name, and the words behind: all of them where none is named.

    Examples of lines: `leak glued`, `wilt inlet cleaned`, `channel 3 watered by hand`.
    """
    known = {matter.id: _words_of(session, matter) for matter in matters}
    left, taken = list(matters), 0
    for word in words:
        named = [matter for matter in left if _is_in(word, known[matter.id])]
        if not named:
            break
        left, taken = named, taken + 1
    return left, list(words[taken:])


def _words_of(session: Session, matter: OpenMatter) -> set[str]:
    texts = [matter.what, matter.brief, matter.code, *matter.ids]
    texts += [name_of(session, each) for each in matter.stations]
    return {word for text in texts for word in re.split(r"[^\w]+", text.casefold()) if word}


def _is_in(word: str, known: set[str]) -> bool:
    typed = word.casefold().strip(",.:;")
    if typed in known:
        return True
    return len(typed) >= _LEAST_LETTERS and any(typed + end in known or typed == each + end
                                                for end in _ENDINGS for each in known)  # fmt: skip
