"""What cannot be written down or worked out from the farm's files, in words: all errors of this room, by code."""

from __future__ import annotations

from rounds.errors import ErrorTexts

in_words = ErrorTexts(
    {
        "no-kind": ("There is no record of the kind “{kind}”.", "Expected: {known}."),
        "no-water": ("There is no water “{water}” in farm.toml.", "Enter it under waters."),
        "blend-of-itself": ("The blend {water} is mixed of itself.", "Name other waters in its blend."),
        "salts-unknown": (
            "What is in {products} is not known: shelf.toml names no salts and no label for it, so no amount can be "
            "worked out.",
            "Enter what its label prints, or its salts in grams per litre, in shelf.toml. Or try it in a bucket: "
            "`rounds measure FARM bucket` guides through ten litres of your water and a syringe of each part.",
        ),
        "agent-odd": ("{product}: {sentence}", "{hint}"),
        "strength-unknown": (
            "The strength of {product} is not known, so there is no dose for it.",
            "Enter its percent, or its mol/L, in shelf.toml.",
        ),
    }
)
