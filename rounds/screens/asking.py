"""The window for what a dialogue asks in between."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from textual.screen import Screen

from rounds.screens.prompt import PromptScreen
from rounds.walk.dialogue import Reply, WithAsides


def ask_in_between(screen: Screen[Any], dialogue: WithAsides, then: Callable[[Reply], None]) -> None:
    """Open a window for the question in between, where there is one; hand on what its answer is replied."""
    aside = dialogue.aside
    if aside is None:
        return

    def answered(text: str | None) -> None:
        if text is None:
            dialogue.press("esc")
        else:
            then(dialogue.answer(text))

    prompt = PromptScreen(aside.text, aside.hint, check=aside.check, enter_confirms=aside.enter_confirms)
    screen.app.push_screen(prompt, answered)
