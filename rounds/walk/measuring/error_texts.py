"""What a measurement refuses and what cannot be measured, in words: all errors of this room, by code."""

from __future__ import annotations

from rounds.errors import ErrorTexts

in_words = ErrorTexts(
    {
        "measure-range": ("{what} of {value:g} {unit} is not believable.", "Expected: {low:g} to {high:g} {unit}."),
        "measure-grower": (
            "What is measured here changes every dose: it is the grower's to measure.",
            "`--as NAME` says that somebody else walks.",
        ),
        "no-measurement": ("There is nothing to measure called “{what}”.", "There are: {known}."),
        "measure-of-what": ("{what} is measured of one of these: {known}.", "Name it."),
        "measure-of-nothing": ("This farm has nothing of which {what} is measured.", "{hint}"),
        "no-such-choice": ("“{text}” is not one of these.", "Type a number from 1 to {most}."),
        "measure-wait": ("It is too early: {left} to go.", "Then Enter again; what is typed stays."),
        "no-titrant": (
            "There is no acid on the shelf to titrate with.",
            "Enter a working acid (nitric, phosphoric, sulfuric or hydrochloric) with its strength in shelf.toml.",
        ),
        "titration-buffer": (
            "A meter that shows {shown:g} in buffer 4.01 is more than {off:g} off: what it shows at 4.5 tells nothing.",
            "Calibrate it, then dip again.",
        ),
        "titration-no-alkalinity": (
            "At pH {ph:.2f} the water has no alkalinity to be titrated.",
            "Is it the right water? Then read again.",
        ),
        "titration-two-numbers": ("Two numbers are expected: mL in all, and the pH.", "Such as: 2.5 5.8"),
        "titration-below-its-start": (
            "{ml:g} mL in all cannot be after {before:g} mL: a titration that ends below its start tells nothing.",
            "Count what was poured since the start; at most {most:g} mL.",
        ),
        "titration-ph-rises": (
            "pH {ph:g} cannot come after {before:.2f}: acid takes it down.",
            "Stir, wait half a minute, read again.",
        ),
        "titration-too-far": (
            "pH {ph:.2f} is past the end: from below {least:g} too much of it is acid left over.",
            "Measure out the water anew; `anew`, then Enter, begins again.",
        ),
        "measure-enter": ("Enter alone says that it is done.", "Nothing is typed here."),
        "measure-write": ("w writes it into farm.toml, Enter alone leaves the file as it is.", ""),
        "measure-outcome": ("Enter alone says that it counts; F6 takes the last answer back.", ""),
        "tub-dip": (
            "The dip fell from {before:g} to {cm:g} cm while water was poured in: that cannot be.",
            "Dip again where the stick stands on the floor of the tub; is the drain shut?",
        ),
        "tub-one-or-two": (
            "The dip is expected, in cm; behind it the litres, where it was not {litres:g} L.",
            "Such as: 12.5",
        ),
        "tub-few": ("{dips} dips make no table yet.", "Pour on, and dip again."),
        "tub-same-dip": (
            "The dip is still {cm:g} cm: so little water does not show.",
            "Pour as much again, dip, and type the litres behind it, such as: 12.5 {twice:g}",
        ),
        "no-tub": ("{name} is not dipped.", "A reservoir or a tank is."),
        "bucket-no-part": (
            "{product}, of the nutrient feed {feed}, is not on the shelf.",
            "Enter it in shelf.toml; its name and part are enough for a bucket test.",
        ),
        "bucket-numbers": ("Expected: {what}.", "Such as: {ml:g} 1.05"),
        "bucket-odd": ("{ml:g} mL and an EC of {ec:g} mS/cm are not believable.", "mL come first, then the EC."),
        "bucket-falls": (
            "The EC fell from {before:g} to {ec:g} mS/cm with {product} in: that cannot be.",
            "Stir, wait a minute, read again; rinse the probe. Is it the right bottle, and in mS/cm?",
        ),
        "pump-two-numbers": ("Two numbers are expected: litres, and seconds.", "Such as: 10 31"),
        "pump-off-dip": (
            "With the pump off the dip fell from {before:g} to {cm:g} cm: water is leaving somewhere.",
            "Look for it first. Nothing runs back that leaves.",
        ),
    }
)
