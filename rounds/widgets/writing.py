"""Writing on a screen that is there: it is laid out anew only where a text takes another room than before."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static


def write(place: Static, text: Content, *, same_room: bool = False) -> None:
    """Write a text where it is another than the one that stands there.

    Parameters
    ----------
    place : Static
        Where it stands.
    text : Content
        What is to stand there.
    same_room : bool
        Whether it takes the same lines and columns whatever it says: laying out a screen of many rows takes longer
        than all else that a key leads to.
    """
    stands = place.visual
    if not (isinstance(stands, Content) and stands.is_same(text)):
        place.update(text, layout=not same_room)
