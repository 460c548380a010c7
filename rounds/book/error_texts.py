"""What cannot be written down or worked out from the farm's files, in words: all errors of this room, by code."""

from __future__ import annotations

from rounds.errors import ErrorTexts

in_words = ErrorTexts(
    {
        "no-kind": ("There is no record of the kind “{kind}”.", "Expected: {known}."),
        "no-water": ("There is no water “{water}” in farm.toml.", "Enter it under waters."),
        "blend-of-itself": ("The blend {water} is mixed of itself.", "Name other waters in its blend."),
        "salts-unknown": (
            "What is in {products} is not known: shelf.toml names no salts for it, so no amount can be worked out.",
            "Enter its salts in grams per litre in shelf.toml. Until then feed by its label, in small parts, and read "
            "the EC after each.",
        ),
        "agent-odd": ("{product}: {sentence}", "{hint}"),
        "strength-unknown": (
            "The strength of {product} is not known, so there is no dose for it.",
            "Enter its percent and density, or its mol/L, in shelf.toml.",
        ),
    }
)
