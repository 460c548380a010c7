"""The kinds of record: the one list of them. History holds records to it, the book reads them by it.

What a record of a kind says is a class in `rounds.book.entries`, bound to its row by its name. How to add a kind
stands in the README of the book.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Touches = Literal["level", "composition", "stock", "flock"]
"""What a record may change of the farm itself, beside telling of it."""
Promise = Literal["anything", "a number", "an answer", "an amount poured", "an amount", "started or closed"]
"""What its value promises to be; `rounds.history.shapes` checks it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordKind:
    """One kind of record."""

    written_by: tuple[str, ...]
    """The functions that write a new one, as `module:function`; none where only an earlier version did."""
    value: Promise = "anything"
    counts_without_value: bool = False
    """Whether it counts even if nobody knows its value; else it is passed over then."""
    touches: frozenset[Touches] = frozenset()
    growers: bool = False
    """Whether only a grower writes it."""


_ANSWER = "rounds.walk.answering:draft_of"
_STEP = "rounds.walk.carrying_out:record_step"
_WEATHER = "rounds.walk.doings.weather"
_ASKED = "rounds.walk.asked_first:answer_asked"
KINDS: Mapping[str, RecordKind] = MappingProxyType({
    "reading": RecordKind(value="a number", written_by=(_ANSWER, "rounds.walk.carrying_out:dip_in_buffer", _ASKED)),
    "check": RecordKind(value="an answer", written_by=(_ANSWER, "rounds.walk.answering:all_well_draft")),
    "dose": RecordKind(
        value="an amount poured", counts_without_value=True, touches=frozenset({"level", "composition", "stock"}),
        written_by=(_STEP, "rounds.relief.typed_in:pour", "rounds.walk.doings.water:dose"),
    ),
    "step": RecordKind(written_by=(_STEP,)),
    "correction": RecordKind(written_by=("rounds.walk.offering:offer",)),
    "put-off": RecordKind(written_by=("rounds.walk.carrying_out:put_off",)),
    "overtaken": RecordKind(written_by=()),
    "recheck-done": RecordKind(written_by=()),
    "skip": RecordKind(written_by=("rounds.walk.answering:skip_draft",)),
    "note": RecordKind(written_by=("rounds.walk.answering:note_draft", "rounds.relief.taking_back:ask_helper")),
    "stock": RecordKind(
        value="an amount", touches=frozenset({"stock"}), growers=True, written_by=("rounds.walk.stock:count_product",)
    ),
    "given-up": RecordKind(growers=True, written_by=("rounds.walk.half_pairs:give_up",)),
    "round": RecordKind(
        value="started or closed", written_by=("rounds.walk.round:start_round", "rounds.walk.round:close_round")
    ),
    "seen": RecordKind(
        written_by=("rounds.walk.slow_change.watch:mark_seen", "rounds.walk.slow_change.watch:mark_put_right")
    ),
    "event": RecordKind(
        written_by=("rounds.cli.paper:take_in", f"{_WEATHER}:read_storm", f"{_WEATHER}:read_outage")
    ),
    "measuring": RecordKind(growers=True, written_by=("rounds.walk.measuring.keeping:keep_answers",)),
    "measured": RecordKind(
        value="a number", growers=True, written_by=("rounds.walk.measuring.keeping:keep_outcome",)
    ),
    "doing": RecordKind(touches=frozenset({"stock", "flock"}), written_by=("rounds.walk.doings.model:doing",)),
    "settled": RecordKind(written_by=("rounds.walk.to_sort.settle:closing", "rounds.walk.to_sort.settle:parking")),
})  # fmt: skip
WRITES_ANY = ("rounds.walk.putting_right:put_right", "rounds.walk.answering:take_back", "rounds.cli.paper:take_in")
"""What writes a record of a kind anew that is there already, or one that a paper log names."""
