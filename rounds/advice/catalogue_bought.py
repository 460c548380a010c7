"""What is said of feeds bought with a label, and of litres in doubt. The door gives it the words, with all the rest."""

from __future__ import annotations

BOUGHT = {
    "acid-waits-for-bottle": "{name} went in here within a day: it is organic or holds the pH by itself, and has not "
    "come to rest. No acid or base for {hours:.0f} more hours.",
    "acid-waits-for-bottle-instead": "Read the pH again then, and correct.",
    "a-quarter-first": "A quarter of the feed goes in first: how far it lifts the EC shows how much water there is. "
    "Then the rest, by reading.",
    "ec-fell": "EC {now:.2f} mS/cm after {then:.2f} with nothing fed in between is more than plants take: read it "
    "again, the cell rinsed and full.",
    "feed-not-by-ec": "{names: and } is organic or holds the pH by itself: its EC says nothing of its strength, so no "
    "amount is worked out from one.",
    "feed-not-by-ec-instead": "Pour what its label says for the fresh water that went in, write it down, and correct "
    "the pH at the earliest 24 hours later.",
    "label-holds": "Held to what the label of {names: and } says for the fresh water since the fill. Once the EC was "
    "read after it, or in a bucket test, the readings decide.",
    "label-reached": "As much of {names: and } as its label says for the fresh water since the fill is in already, and "
    "no reading has shown yet what it does here.",
    "label-reached-instead": "Read the EC again, or make a bucket test: `measure bucket` guides through ten litres "
    "of your water, a syringe of each part, and the EC before and after.",
}
