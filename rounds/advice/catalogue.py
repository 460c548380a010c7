"""The words of the advice: every code that it uses with its sentence, or a part of one.

Values stand in braces with their number format; lists with what stands between their entries. A part of a sentence
that is not always said is an empty list, and brings its own space or comma. What a refusal tells to do instead has the
code of its text with "-instead" behind it, and the same values.
"""

from __future__ import annotations

from collections.abc import Mapping

from rounds.advice.catalogue_bought import BOUGHT

_READINGS = {
    "arrives-twice": "The readings are {times:.0f} times likelier if twice as much arrived as was entered: poured "
    "twice, a stronger bottle, or less water circulating than dipped (pump off, a dead corner). Look before the next "
    "dose.",
    "book-off": "EC is {times:.1f} times what was entered here since the change-out would make: something was not "
    "entered, or the volume is wrong.",
    "cold": "The feed has {t:.0f} °C: phosphate is hardly taken up below {least:g} °C.",
    "ec-dead": "EC {now:.2f} mS/cm after {then:.2f}, and no change-out on record: a cell that is dry, dirty or dead. "
    "Nothing is fed on it. Try it in a standard; if it was filled anew, enter the change-out.",
    "ec-jump": "EC {now:.2f} mS/cm is hard to believe after {then:.2f} before: read again, the cell rinsed and full.",
    "ec-rises": "EC is in band, but about {then:.2f} mS/cm by the next round, as it usually rises: top up with plain "
    "water, as far as there is room.",
    "fresh-fill": "It was filled {hours:.1f} hours ago, and nobody said how: through a hose under water (“filled "
    "still”), splashing (“filled splashed”), or with air bubbling in (“filled aired”)? So much CO2 is left, and so "
    "much acid will be wanted.",
    "hungry": "EC and level down: the plants eat more than they drink. Feed with the water.",
    "level-fell": "{litres:.0f} L are gone in {time}{counted}, {usual}: look for a leak, an open valve, a slipped "
    "hose, a channel that overflows or has run empty; dip again before you top up.",
    "hours": "{hours:.0f} hours",
    "days": "{days:.0f} days",
    "poured-in-between": " (the {litres:.0f} L poured in between counted)",
    "more-than-plants-drink": "far more than plants drink",
    "more-than-usual-here": "where about {l_day:.0f} L a day are usual here",
    "meters-mistaken": "{mistake} Until that is put right the meters are taken to be twice as far off as usual: "
    "smaller steps.",
    "ph-falls": "The pH fell by {fall:.1f} in a day without any acid: look at the roots before any base.",
    "ph-falls-before-base": "The pH fell by {fall:.1f} in a day without any acid: dying roots, or much ammonium. Look "
    "at the roots and smell them before any base.",
    "ph-far-from-before": "pH {now:.2f} is hard to believe after {then:.2f} before.",
    "pump-too-small": "The pump of {pump_l_min:g} L/min takes {hours:.0f} hours to turn {litres:.0f} L over three "
    "times: too small for this reservoir. What is poured must not be read before that.",
    "raw-water": "EC down and the level steady: raw water got in. Look at the float valve and for rain at the lid.",
    "reading-jump": "pH {read:.2f} is hard to believe after the readings before: about {expected:.2f} was expected. "
    "Read again; what follows is a small step that is safe either way.",
    "reading-too-high": "pH {ph:.2f} is hard to believe: it would need an alkalinity of at least {implied:.1f} meq/L, "
    "and water, base and plants have brought about {brought:.1f}. Read again, on a second meter if there is one; what "
    "follows is a small step that is safe either way.",
    "temperature-assumed": "No water temperature was read: {temperature_c:g} °C assumed.",
    "thirsty": "EC up and level down: the plants drink more than they eat. Plain water.",
    "unknown-poured": "{names: and } was poured here and is not on the shelf with its strength: what it did is not "
    "reckoned with. Enter it in shelf.toml (amount 0 where it is finished).",
    "volume-assumed": "The level was not dipped: {litres:.0f} L assumed. Dip it, and the doses get surer.",
    "warm": "The feed has {t:.0f} °C: shade it, splash more; raise EC only at dusk or dawn.",
    "water-unbalanced": "The charges of the analysis of {water} do not balance: {percent:.0f} % of the {missing} are "
    "missing. Predictions go on with a wider range.",
    "anions": "anions",
    "cations": "cations",
}
"""What the readings mean."""

_SURPRISES = {
    "surprise": "pH {read:.2f} after the last dose, where {expected:.2f} was expected: nothing more is poured until it "
    "is read again. Likely, in this order: {causes:; }.",
    "readings-disagree": "pH {now:.2f} after {before:.2f} in the same water: one of the two is wrong, and nothing is "
    "poured on either.",
    "readings-disagree-instead": "Read a third time, probe rinsed, pump running; then correct again.",
    "surprise-instead": "Read again in a few minutes, probe rinsed, pump running; then correct again.",
    "surprise-beside-water": "pH {read:.2f} after the last dose, where {expected:.2f} was expected. Likely, in this "
    "order: {causes:; }. Water is safe; no acid or base until it is found.",
    "surprise-ec": "EC {read:.2f} mS/cm after feeding, where {low:.2f} to {high:.2f} was expected. Likely, in this "
    "order: {causes:; }. {then}",
    "read-before-pouring": "Read again before anything more is poured.",
    "no-more-concentrate": "Read twice now: no more concentrate until the cause is found.",
    "not-yet-mixed": "not yet mixed",
    "acid-instead-of-base": "bottles swapped: acid instead of base",
    "base-instead-of-acid": "bottles swapped: base instead of acid",
    "weak-acid": "water or a weak bottle instead of acid",
    "weak-base": "water or a weak bottle instead of base",
    "dead-corner": "pump off or a dead corner",
    "more-water": "more water in it than dipped",
    "poured-twice": "poured twice, or cL read as mL",
    "stronger-bottle": "a stronger bottle than entered",
    "less-water": "less water circulating than thought: dipped with the pump off",
    "ph-meter-off": "the meter is off: dip it in buffer",
    "feed-poured-twice": "A or B poured twice, or cL read as mL",
    "less-water-circulating": "less water circulating than thought",
    "feed-not-in": "not poured or not yet mixed",
    "pump-off": "pump off",
    "half-strength": "half strength: shake the drum",
    "one-of-two": "only one of A and B",
    "ec-meter-off": "the meter is off",
}
"""A reading after a dose that is not what was expected, and what is likely wrong."""

_GATES = {
    "base-after-acid": "Acid went in today, and the CO2 that it set free is leaving: the pH comes to about {then:.1f} "
    "by itself. No base, or it swings.",
    "base-after-acid-instead": "Let it circulate, and read again in two hours.",
    "bottle-doubtful": "What was poured today did not do what it should ({names:, }): nothing more is poured from it "
    "today.",
    "bottle-doubtful-instead": "Look at the bottle and its label, dip a strip into it, look at the pump; type “bottles "
    "y” at the reservoir, then correct again.",
    "the-last-doses": "the last doses",
    "buffer-off": "The probe shows {shown:.2f} in the buffer of {buffer:.2f}, which has {due:.2f} at "
    "{temperature_c:.0f} °C: {off:.2f} too {side}. Clean and calibrate it first.",
    "buffer-off-instead": "Calibrate, dip again, read the reservoir again; or use a second meter. Until then only "
    "water.",
    "high": "high",
    "low": "low",
    "chlorine": "Chlorine was used here and no rinse is on record since: acid would set chlorine gas free.",
    "chlorine-instead": "Rinse twice with plain water, check by strip (below 0.5 mg/L), type “rinsed y” there; then "
    "correct again.",
    "reading-unbelievable": "pH {ph:.2f} is not that of a feed: nothing is poured on it.",
    "reading-unbelievable-instead": "Dip the probe in buffer and read again. If it is true: plants out of the stream, "
    "and change out.",
    "still-mixing": "What was poured last has not mixed in yet: {minutes:.0f} minutes are left of three turnovers.",
    "still-mixing-instead": "Walk on, and read again then.",
    "bad-input": "{sentence}",
    "bad-input-instead": "{hint}",
    "read-again": "Read again.",
}
"""What keeps a dose back, and what to do instead."""

_FAULTS = {
    "fault-bottle-ten-times": "a bottle ten times as strong",
    "fault-bottle-three-times": "a bottle three times as strong",
    "fault-bottles-swapped": "acid and base that changed places",
    "fault-bottle-tenth": "a bottle a tenth as strong",
    "fault-nothing-arrives": "nothing of what was poured arriving: water in the bottle, the pump off or a dead corner",
    "fault-half-circulates": "only half of the water circulating",
    "fault-another-water": "a water that is much softer than entered",
    "fault-meter-high": "a meter that reads 0.5 too high",
    "fault-meter-very-high": "a meter that reads 0.8 too high",
    "fault-meter-low": "a meter that reads 0.5 too low",
    "fault-meter-stuck": "a meter that does not move",
    "likely-bottle": "{name}: what was read looks most like {fault}. Nothing more is poured until it is looked into.",
    "likely-bottle-instead": "Look at the bottle and its label; if they seem right (“bottles y”), make the jar test "
    "again. If it shows the same, put the bottle aside and make a new one from its sheet.",
    "likely-water": "What was read looks most like {fault}: nothing more is poured until it is looked into.",
    "likely-water-instead": "Look at the pump, at dead corners and at the dip; where all is right, type “bottles y” at "
    "the reservoir, then correct again.",
    "likely-source": "What was read looks most like {fault}: nothing more is poured until it is looked into.",
    "likely-source-instead": "Find out which water went in, test its hardness by strip, and put it right in farm.toml "
    "or in the record; then read and correct again.",
    "likely-meter": "What was read looks most like {fault}: nothing more is poured until it is looked into.",
    "likely-meter-instead": "Read on a second meter or a strip (“strip 6.0”), clean and calibrate the probe, then read "
    "and correct again.",
    "likely-stuck": "What was read looks most like {fault}: nothing more is poured until it is looked into.",
    "likely-stuck-instead": "Clean the probe, dip it in the buffer of 4.01 (“buffer-4 4.0”), calibrate or use another "
    "one; then read and correct again.",
    "with-care": "What was read still looks most like {fault}, though that was looked into: no more is poured than "
    "would be safe then.",
    "jars-odd": "Nothing known explains how far the jar tests went, though each went the right way: no more is poured "
    "than a likely fault would bear.",
    "jar-unexplained": "The jar test with {name} showed a pH that nothing known explains: none is poured.",
    "jar-unexplained-instead": "Look at bottle, label and syringe, rinse the probe, and make the jar test again with "
    "fresh water.",
}
"""What may be wrong with what was told, and what to look at."""

_AMOUNTS = {
    "bottle-short": "{name}: {left_ml:.0f} mL are left, which does not go all the way. Make a new working bottle by "
    "its sheet.",
    "bottle-used-up": "{name} is used up.",
    "bottle-used-up-instead": "Make or count a new bottle and enter it; until then only water can help.",
    "bottle-without-effect": "{name} as it is entered would hardly move the pH here: none is poured.",
    "bottle-without-effect-instead": "Look at its strength in shelf.toml, and read pH and level again.",
    "concentrates-out": "EC is low, and there is too little of {names: and }.",
    "concentrates-out-instead": "A and B only go together: make fresh concentrate by its mix sheet, or count what is "
    "there.",
    "concentrates-short": "The concentrates do not go all the way: the amounts below use them up together. Make fresh "
    "ones by the mix sheet.",
    "day-limit": "The pH was moved by {moved:.1f} today already, and {most:g} is the most in a day{young}.",
    "day-limit-instead": "Enough for today: let it settle and go on tomorrow.",
    "half-for-young": ", half for young plants",
    "day-limit-ec": "EC was raised by {most:g} mS/cm today already: more would burn roots.",
    "day-limit-ec-instead": "Go on tomorrow; in heat at dusk or dawn.",
    "dip-twice": "One dip is right within {within:.2f}. Dip again and enter it: the step may be larger.",
    "feed-unknown": "{sentence}",
    "feed-unknown-instead": "{hint}",
    "feed-waits-for-acid": "A and B wait until the acid can go in first: calcium phosphate would fall out at this pH.",
    "feed-waits-for-ph": "A and B wait until a pH that can be believed was read.",
    "no-acid-needed": "{sentence}",
    "no-effect-foreseen": "{names: and } as they are entered would move the EC by {foreseen:.2f} mS/cm, where "
    "{wanted:.2f} are wanted: nothing is poured on that.",
    "no-effect-foreseen-instead": "Look at their salts in shelf.toml and at the mL per litre in feeds.toml.",
    "no-weak-water": "{why}",
    "no-weak-water-instead": "Enter a weaker water (rain) under waters in farm.toml.",
    "not-for-recirculation": "{name} is not used here. {why}.",
    "not-for-recirculation-instead": "Use working acid from nitric, phosphoric or sulfuric acid.",
    "nothing-on-shelf": "There is no {kind} on the shelf.",
    "nothing-on-shelf-instead": "Enter a working {kind} with its strength in shelf.toml; until then only water can "
    "help.",
    "bottle-done": "{name} has done what it may until the change-out: with more of it the feed would hold more "
    "phosphate than its recipe.",
    "bottle-done-instead": "Use working acid from nitric or sulfuric acid, or change out.",
    "phosphate-cap": "Held back so that phosphate does not rise above the recipe's.",
    "rest-of-acid": "About {rest} of {name} are left for later: once the CO2 has left the pH climbs. From next morning "
    "on read it, and trim in small steps to about {aim:.1f}; it stays there then.",
    "stock-acid": "{name} as bought is too strong to dose from.",
    "stock-acid-instead": "Make a bottle of working acid (5-10 %) by its sheet, enter it on the shelf, then correct "
    "again.",
    "stock-base": "{name} as bought is too strong to dose from.",
    "stock-base-instead": "Make a bottle of working base (5-10 %) by its sheet, enter it on the shelf, then correct "
    "again.",
    "strength-unknown": "{sentence}",
    "strength-unknown-instead": "{hint}",
    "three-times-usual": "More than three times the usual dose here: look at the reading and for the reason before it "
    "is poured.",
    "throws-down": "{what} {instead}",
    "slowly-into-the-return": "Pour it slowly into the moving return.",
    "too-small": "The {kind} that is safe here is less than can be measured ({ml:.2f} mL of {name}).",
    "too-small-instead": "Dip a second time, or on a second meter, and correct again: a surer reading allows a larger "
    "step.",
    "moved-already": "{outlook}. Enough was poured today for a pH that is in band: read it again at dusk or next "
    "morning.",
    "water-waits": "{litres:.0f} L more of this water can wait: now they would lift the pH out of its band. They go in "
    "with the next correction.",
    "will-move": "{outlook}. No dose is safe and large enough to be worth it yet: read again at dusk or next morning.",
}
"""How much goes, and why not more."""

_HALF_PAIR = {
    "half-pair": "{when}: {owed} of {half} are still owed. Nothing else is poured before that.",
    "half-pair-in-parts": "That is much for {litres:.0f} L: {measured} go in now, the rest once it was read.",
    "half-pair-partly": "{name}: only {measured} of the {owed} owed are left. Pour what there is, and make fresh "
    "{half} by its mix sheet for the rest.",
    "half-pair-short": "{owed} of {half} are owed, and {why}.",
    "half-pair-short-instead": "Make fresh {half} by its mix sheet and count it, or change the reservoir out.",
    "not-on-the-shelf": "there is no concentrate “{product}” on the shelf",
    "none-left": "there is no {name} left",
    "half-pair-too-strong": "With {owed} of {half} the EC would be far above the band of {low:g} to {high:g} mS/cm.",
    "half-pair-too-strong-instead": "{first}",
    "read-the-ec-first": "Read the EC first.",
    "thin-it-first": "Thin it first; {half} is worked out again by reading.",
}
"""A or B that went in alone."""

_STEPS = {
    "sentences": "{all: }",
    "jar-test": "Jar test: stir {into} of {name} into {litres:g} L of {liquid} in a clean bucket, wait a minute, and "
    "type the pH it shows.",
    "own-water": "the reservoir's own water",
    "dip-in-acid-buffer": "Dip the pH probe in the buffer of 4.01, rinsed, for a minute, and type what it shows.",
    "read-a-strip": "Read the pH by a strip, or on a second meter, and type it.",
    "add-water": "Add {measured} of {name}{dip}.",
    "drain-off": "Drain off {measured}{dip}.",
    "to-a-dip": ", to a dip of {cm:.0f} cm",
    "to-a-fine-dip": ", to a dip of {cm:.1f} cm",
    "change-out": "Run the old feed out, rinse, and fill with {measured} of {name} in all.",
    "pour-concentrate": "Pour {measured} of {name} ({vessel}) into the return.",
    "pour-dose": "Pour {measured} of {name} ({vessel}), stirred into a bucket of the reservoir's water, over "
    "{minutes:.0f} minutes into the return.{only}",
    "pour-thinned": "{measured} of {name}, which is too little to measure: stir 10 mL of it into a litre of clean "
    "water, and pour {thinned} of that ({vessel}) over two minutes into the return. Throw the rest away.",
    "only-above": " Only if the pH now shows {ph:.1f} or more; else none of it.",
    "only-if-it-agrees": "{step} Only if the second reading agrees.",
    "run-the-pump": "Let the pump run {minutes:.0f} minutes.",
    "run-the-pump-then-read": "Let the pump run {minutes:.0f} minutes, then read the pH: the next step hangs on it.",
    "run-the-pump-on": "Let the pump run {minutes:.0f} minutes more.",
    "dip-in-buffer": "Dip the pH probe in the buffer of 7: it must show 7 within {tolerance:g}.",
    "read-before-going-on": "Read {items: and } again before you go on.",
    "read-one-first": "Read the {item} again before anything is poured.{feed}",
    "read-all-first": "Read {items: and } again before anything is poured.{feed}",
    "feed-waits-for-reading": " A and B wait for it: if it agrees, enter it and correct again.",
    "recheck": "Read {items: and } again in {minutes:.0f} minutes.",
    "read-then": "Then read pH and EC again.",
    "look-at-roots": "Look at the roots of its channels and smell them.",
    "look-for-a-leak": "Look for a leak: hoses, joints, valves, the ends of the channels, the floor. Then dip again.",
}
"""What is done."""

_REASONS = {
    "a-before-b": "A must be thinned before B comes: calcium would fall out with phosphate and sulfate.",
    "part-before-next": "Each part must be thinned before the next one comes: undiluted they fall out together.",
    "acid-before-feed": "Most of the acid goes in before A and B, or calcium phosphate falls out.",
    "acid-for-hard-water": "More than a tenth is hard water ({name}): acid before A and B.",
    "all-is-renewed": "All is renewed.",
    "bears-it": "{half} is owed still, as far as the EC bears it.",
    "better-renewed": "Most would have to go: better renewed.",
    "both-halves": "With both halves in, the readings say what else is wanted.",
    "dying-roots": "pH that falls by itself comes from dying roots.",
    "feed-too-thin": "EC would be {ec:.2f} mS/cm, below the band of {low:g} to {high:g}.",
    "feed-thins": "EC is in band, but about {then:.2f} mS/cm by the next round, as it usually falls: better fed now.",
    "full": "It is full: drain off and refill.",
    "gentlest-base": "The pH is too low, and {name} is the gentlest base.",
    "half-before-reading": "{half} must have mixed before it is read.",
    "half-went-in": "{when}.",
    "held-in-case-of": "Held down in case of {fault}: the answer allows the whole dose. What follows is safe even so.",
    "jar-tells-buffer": "How much acid or base this water takes up is not known yet: the answer allows a larger dose. "
    "What follows is safe even so.",
    "jar-before-was-odd": "What was read before does not fit: once more, with care.",
    "hard-water-mixed": "The hard water must have mixed.",
    "how-hard-it-is": "The pH after the first pour shows how hard the water is.",
    "leak-empties": "A leak that is topped up empties the tank too.",
    "litres-missing": "{litres:.0f} L are missing to the working level{better}{strong}.",
    "keeps-ph-better": "; {name} keeps the pH better than the usual water",
    "on-the-strong-side": ", and the feed is on the strong side: plain water",
    "middle-of-band": "To the middle of the EC band.",
    "mixes-in-three-turnovers": "Three turnovers mix to 95 %.",
    "next-morning": "Next morning, when the CO2 has left, expect pH {middle:.1f} ({low:.1f} to {high:.1f}).",
    "no-buffer-dip": "No buffer dip is on record today, and a probe that lies makes every dose wrong.",
    "no-water-weak-enough": "No water at hand is weak enough to thin it.",
    "not-sure-in-band": "The pH is in its band of {low:g} to {high:g} with a likelihood of {likely:.0%} only.",
    "ph-will-leave": "The pH is in band now, but about {then:.1f} by the next round",
    "better-moved": "{outlook}: better moved now.",
    "room-for-water": "There is room for plain water.",
    "room-for-hard-water": "The water that is missing would lift the pH out of its band: acid first, then the water.",
    "says-little": "A reading before that says little.",
    "worked-out-anew": "The {kind} is worked out anew from what it shows; below stands what is expected.",
    "stir-and-air": "Stir and air: the CO2 that was set free leaves.",
    "tests-this": "After three turnovers it has mixed to 95 %; that reading tests this correction.",
    "too-little-to-tell": "What would thin it is less than can be told by can and stick.",
    "too-strong": "EC {ec:.2f} mS/cm is above the band of {low:g} to {high:g}.",
    "water-before-reading": "The water must have mixed before it is read.",
    "water-and-feed-before-ph": "Water and concentrates must have mixed before the pH says anything.",
    "within-meter-error": "That is within the meter's error: nothing is drained off for it.",
}
"""Why it is done."""

PARTS = (BOUGHT, _READINGS, _SURPRISES, _GATES, _FAULTS, _AMOUNTS, _HALF_PAIR, _STEPS, _REASONS)
TEXTS: Mapping[str, str] = {code: text for part in PARTS for code, text in part.items()}
"""The words of every code."""
