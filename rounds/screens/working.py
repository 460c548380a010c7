"""The working of a correction: the formulas with their numbers, the sources, the assumptions, the intervals."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from rounds.walk.open_corrections import OpenCorrection
from rounds.widgets.key_line import KeyLine


class WorkingScreen(ModalScreen[None]):
    """Shows the whole working; it scrolls."""

    CSS_PATH = "working.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,w,enter", "dismiss(None)", "back", id="working.back")]

    def __init__(self, correction: OpenCorrection) -> None:
        super().__init__()
        self._correction = correction

    def compose(self) -> ComposeResult:
        """The working as text."""
        with VerticalScroll(id="paper"):
            yield Static(Content(_working(self._correction)))
        yield KeyLine()


def _working(correction: OpenCorrection) -> str:
    parts = ["\n".join(correction.explain)]
    parts += [f"Step {s.number}: {s.text}\n" + "\n".join(f"  {line}" for line in s.explain) for s in correction.steps]
    return "\n\n".join(part for part in parts if part.strip())
