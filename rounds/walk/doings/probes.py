"""A probe calibrated or checked: only by what it showed before are earlier readings judged."""

from __future__ import annotations

from collections.abc import Generator
from datetime import datetime, timedelta
from typing import Any

import msgspec

from rounds.book.entries import BUFFER_4, BUFFER_4_PH, Check, Doing, Reading
from rounds.errors import BadInput
from rounds.farm.stations import Reservoir
from rounds.history.record import DOUBTED, Draft
from rounds.text import clean_line
from rounds.units import parse_number
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import FARM, Ask, Place, Understood, Verb, Way, doing
from rounds.walk.doings.words import Words

CALIBRATED, CHECKED = "calibrated", "checked"
AT_PROBES = frozenset({"reservoir", FARM})
_UNKNOWN = ("unknown", "?", "no", "none")
_FAR_PH = 1.0
"""A pH probe that is so far off in a buffer is broken or dirty, not only out of adjustment. Practice. [-]"""
_FAR_EC_SHARE = 0.5
_TOLERANCE_EC_SHARE = 0.03
_NEAR_A_BUFFER_PH = 0.02
_BUFFERS = (7.0, BUFFER_4_PH)


class Probe(msgspec.Struct, frozen=True):
    """What is calibrated."""

    item: str
    """What it reads: `ph` or `ec`."""
    unit: str
    usual: float | None
    """In what it is usually dipped, where nobody says. [its unit]"""
    most: float

    def is_far(self, off: float, known: float) -> bool:
        """Whether it is so far off that calibrating it is no help."""
        return abs(off) > (_FAR_PH if self.item == "ph" else _FAR_EC_SHARE * known)

    def is_off(self, off: float, known: float, tolerance_ph: float) -> bool:
        """Whether earlier readings by it were wrong by more than a probe may be."""
        return abs(off) > (tolerance_ph if self.item == "ph" else _TOLERANCE_EC_SHARE * known)


PH, EC = Probe("ph", "pH", 7.0, 14.0), Probe("ec", "mS/cm", None, 20.0)
_NAMES = {"ph": PH, "ec": EC, "conductivity": EC}


def read_calibrated(place: Place, words: Words) -> Way:
    """A probe that was adjusted; what it showed before is asked, and may be unknown."""
    before_said = words.take_behind("before", "was", "showed", "from")
    if before_said is None and words.take_word("unknown"):
        before_said = ["unknown"]
    probe, known = yield from _probe_and_buffer(place, words)
    shown = yield from _before(place, probe, known, before_said)
    off = round(shown - known, 3) if shown is not None else None
    tolerance = place.session.farm.limits.buffer_tolerance_ph
    was_off = off if off is not None and probe.is_off(off, known, tolerance) else None
    since = right_last(place, probe) if was_off is not None else None
    draft = doing(
        place, words, CALIBRATED, known, probe.unit, before=shown, was_off=was_off,
        off_since=since.isoformat() if since is not None else None,
    )  # fmt: skip
    drafts = (_with_meter(place, probe, draft), *_answered(place, probe))
    if shown is not None and off is not None and probe.is_far(off, known):
        told = f"the {'buffer' if probe is PH else 'standard'} of {known:g}"
        beyond = in_words(BadInput, "far-off", shown=shown, known=told, off=abs(off)).sentence
        return Understood(drafts=drafts, beyond=beyond.removesuffix("."), again=f"{shown:g}")
    return Understood(drafts=drafts)


def read_checked(place: Place, words: Words) -> Way:
    """A probe that was dipped and not adjusted: what it showed is a dip in the buffer."""
    probe = _take_probe(words)
    numbers = words.numbers
    words.left = [token for token in words.left if token not in numbers[:1]]
    words.refuse_numbers(numbers[0] if numbers else "", "checked ph 7.02")
    if numbers:
        shown = _shown(probe, numbers[0])
    else:
        shown = yield Ask(code="shown", text="What did it show?", inline="checked ph 7.02",
                          read=lambda text: _shown(probe, text))  # fmt: skip
    draft = _with_meter(place, probe, doing(place, words, CHECKED, shown, probe.unit))
    if probe is not PH or not isinstance(place.station, Reservoir):
        return Understood(drafts=(draft,))
    buffer = min(_BUFFERS, key=lambda each: abs(each - shown))
    item = "buffer" if buffer == PH.usual else BUFFER_4
    dip = place.draft(Reading.kind, item, shown, typed=words.typed, data={"buffer": buffer})
    return Understood(drafts=(draft, _with_meter(place, probe, dip)), follows=f"a dip in the buffer of {buffer:g}")


def _probe_and_buffer(place: Place, words: Words) -> Generator[Ask, Any, tuple[Probe, float]]:
    probe = _take_probe(words)
    numbers = words.numbers
    words.left = [token for token in words.left if token not in numbers[:1]]
    if not all(probe is PH and _is_a_buffer(each) for each in words.numbers):
        words.refuse_numbers(numbers[0] if numbers else "", "calibrated 7.00 before 7.12")
    if numbers:
        return probe, _shown(probe, numbers[0])
    if probe.usual is not None:
        return probe, probe.usual
    known: float = yield Ask(
        code="standard", text="In which standard? In mS/cm", inline="calibrated ec 1.41 before 1.35",
        read=lambda text: _shown(probe, text),
    )  # fmt: skip
    return probe, known


def _is_a_buffer(text: str) -> bool:
    """Whether a second number is a second buffer, as of two points: it is noted."""
    try:
        return min(abs(parse_number(text) - each) for each in (4.01, 7.0, 10.01)) <= _NEAR_A_BUFFER_PH
    except BadInput:
        return False


def _take_probe(words: Words) -> Probe:
    words.take_word("probe", "meter", "pen")
    named = words.take_word(*_NAMES)
    words.take_word("probe", "meter", "pen")
    words.take_word("in", "at", "to")
    words.take_word("buffer")
    return _NAMES[named] if named else PH


def _before(place: Place, probe: Probe, known: float, said: list[str] | None) -> Generator[Ask, Any, float | None]:
    def read(text: str) -> float | None:
        return None if text.casefold() in _UNKNOWN else _shown(probe, text)

    if said is not None:
        return read(" ".join(said))
    told = "the buffer" if probe is PH else "the standard"
    shown: float | None = yield Ask(
        code="before", text=f"What did it show *before*, in {told} of {known:g}? A number, or `unknown`",
        inline=f"calibrated {known:g} before 7.12, or before unknown", read=read,
    )  # fmt: skip
    return shown


def _shown(probe: Probe, text: str) -> float:
    try:
        shown = parse_number(text)
    except BadInput as error:
        raise in_words(BadInput, "answer", word=clean_line(text, 40), known="a number, or `unknown`") from error
    if not 0.0 <= shown <= probe.most:
        raise in_words(BadInput, "shown", shown=shown)
    return shown


def _with_meter(place: Place, probe: Probe, draft: Draft) -> Draft:
    meter = place.session.farm.meter_for(probe.item)
    return msgspec.structs.replace(draft, meter=meter.id if meter is not None else None)


def _answered(place: Place, probe: Probe) -> tuple[Draft, ...]:
    """What it answers of the checklist: a probe that was calibrated was cleaned and calibrated."""
    asked = probe is PH and any(item.id == CALIBRATED for item in place.items)
    return (place.draft(Check.kind, CALIBRATED, True),) if asked else ()


def right_last(place: Place, probe: Probe) -> datetime | None:
    """When a probe was last known to be right: calibrated, or dipped and near enough; None where nobody knows."""
    session = place.session
    marks = session.history.latest_marks()
    soon = place.at - timedelta(seconds=1)
    done = [Doing(r) for (_, mark), r in marks.items() if mark == f"did:{CALIBRATED}" and r.measured_at <= soon]
    times = [each.measured_at for each in done if each.unit == probe.unit]
    if probe is PH:
        tolerance = session.farm.limits.buffer_tolerance_ph
        dips = [Reading(r) for (_, item), r in session.history.latest_by_item().items() if item == "buffer"]
        times += [
            dip.measured_at for dip in dips
            if dip.number is not None and abs(dip.number - dip.buffer_ph) <= tolerance and dip.measured_at <= soon
            and DOUBTED not in getattr(dip.record, "marks", ())
        ]  # fmt: skip
    return max(times, default=None)


PROBES = (
    Verb(word=CALIBRATED, read=read_calibrated, at=AT_PROBES, particles=("the",), example="calibrated 7.00 before 7.12",
         does="asks what it showed before: judges what it read", in_help=True),
    Verb(word=CHECKED, read=read_checked, at=AT_PROBES, particles=("the",), example="checked ph 7.02",
         does="a probe dipped, not adjusted"),
)  # fmt: skip
