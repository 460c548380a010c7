"""The states that are left behind for a while and forgotten: in which words, and what is lost by it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rounds.checklist.model import Loses


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """One passing state."""

    verb: str
    """As its doings are written down."""
    left: tuple[str, ...]
    """The lines that say that it was left so; the first is the usual one."""
    undone: tuple[str, ...]
    """The lines that say that it is over."""
    said: str
    """Left so, as the daybook says it."""
    said_over: str
    still: str
    """That it is still so, in the middle of a sentence."""
    to_do: str
    """What ends it, the verb first."""
    loses: Loses
    why: str
    """What comes of it."""
    kinds: frozenset[str]
    """The kinds of station where it is typed; "" is the farm as a whole."""


STATES: Mapping[str, State] = {each.verb: each for each in (
    State(verb="hose", left=("hose on",), undone=("hose off",), said="Hose on", said_over="Hose off",
          still="the hose is still running", to_do="Turn the hose off", loses="2 hours",
          why="It runs over, and the feed is thinned.", kinds=frozenset()),
    State(verb="drain", left=("drain open", "drain opened"), undone=("drain shut", "drain closed"),
          said="Drain open", said_over="Drain shut", still="the drain is still open", to_do="Shut the drain",
          loses="30 minutes", why="It runs dry, and the pump with it.", kinds=frozenset({"reservoir", "tank"})),
    State(verb="pump", left=("pump off", "pump unplugged"), undone=("pump on", "pump plugged"),
          said="Pump off", said_over="Pump on again", still="the pump is still off", to_do="Plug the pump in",
          loses="30 minutes", why="Roots in thin channels dry within the hour.",
          kinds=frozenset({"reservoir", "tank"})),
    State(verb="alarm", left=("alarm muted", "alarm off"), undone=("alarm on", "alarm unmuted"),
          said="Alarm muted", said_over="Alarm on again", still="the alarm is still muted",
          to_do="Switch the alarm on again", loses="tonight", why="Nobody hears what fails at night.",
          kinds=frozenset({"reservoir", "tank", "air", "hens", "store", "seedlings", ""})),
    State(verb="vent", left=("vent propped", "vents propped"), undone=("vent shut", "vents shut"),
          said="Vent propped open", said_over="Vent shut", still="the vent is still propped open",
          to_do="Shut the vent", loses="tonight", why="The night's cold comes in.",
          kinds=frozenset({"air", "hens", "seedlings", "store"})),
    State(verb="bleach", left=("bleach in",), undone=("bleach out", "bleach rinsed"),
          said="Bleach in the loop", said_over="Bleach rinsed out", still="there is still bleach in the loop",
          to_do="Rinse the bleach out", loses="2 hours", why="It burns roots; with acid it gives off chlorine.",
          kinds=frozenset({"reservoir", "tank", "channel"})),
    State(verb="acid", left=("acid out",), undone=("acid away",), said="Acid bottle out", said_over="Acid bottle away",
          still="the acid bottle still stands out", to_do="Put the acid bottle away", loses="people",
          why="Somebody who does not know what it is knocks it over.",
          kinds=frozenset({"reservoir", "tank", "store", "channel", ""})),
)}  # fmt: skip
