"""What the command line cannot read or do, in words: all errors of this room, by code."""

from __future__ import annotations

from rounds.errors import ErrorTexts

_A_DAY = "A day such as 2026-11-25 is expected."

in_words = ErrorTexts(
    {
        # of days and times
        "no-day": ("{option}: “{text}” is not a day.", _A_DAY),
        "day-beyond": ("{option}: “{text}” is beyond the calendar.", "A day of our time is expected."),
        "settle-what": (
            "--reason and --later belong to something that is still to sort.",
            "Name it with --settle ID: `rounds matters FARM` lists them.",
        ),
        "day-without-time": (
            "--at: “{text}” is a day without a time.",
            "A time such as 2026-11-25T07:10 is expected.",
        ),
        "too-long-ago": (
            "--at: {at} is not within the last {days} days.",
            "A reading is entered after it was taken; `rounds history --import` takes old paper logs in.",
        ),
        "no-verb": (
            "“{line}” is nothing that is done on the farm as a whole.",
            "Such as storm, or outage 20 min; readings belong to a station.",
        ),
        "until-before-since": ("--until lies before --since.", "Give the earlier day as --since."),
        "day-and-span": ("--day stands for itself.", "Leave --since and --until out."),
        # of what is asked for
        "no-farm-named": ("No farm was named, and this folder is none.", "Try  rounds FARM  or  rounds --sample."),
        "not-read-lately": (
            "{reservoir} has not been read in the last hours.",
            'Give the readings, such as "ph 6.4 ec 1.9 t 21 dip 31cm".',
        ),
        "nothing-read": ("Nothing was read here under “{item}”.", "There are: {known}."),
        "litres-a-day": ("{litres:g} L a day cannot be.", "Expected more than 0 L a day."),
        "growers-plan": (
            "Tanks, change-outs and bottles are prepared by the grower.",
            "`rounds mix` holds to your limits.",
        ),
        "growers-keys": ("Keys are for the grower to say.", "Where the farm is yours, say so with  --as NAME."),
        # of files
        "not-written": ("{path} could not be written: {why}.", "Choose another file or folder."),
        "not-read": ("{path} cannot be read: {why}.", ""),
        "not-utf-8": ("{path} is not UTF-8 text.", "Save the table as CSV in UTF-8."),
        "not-tried-out": (
            "A {items} is not tried out here: it counts once it is written down.",
            "Write it down with `rounds enter`, then correct without a line.",
        ),
        "no-channel-id": ("--into needs the channel's id.", "Such as --id channel-7."),
        "no-mapping": ("--import needs to know which column is what.", "Give --mapping TOML. {example}"),
        "mapping-odd": ("{path}: {why}.", "{example}"),
        "mapping-key": ("{key}: {known}.", ""),
        "mapping-kind": ("{path}: there is no record of the kind “{kind}”.", "Expected: {known}."),
    }
)
