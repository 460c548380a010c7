"""What each kind of record promises to hold; what does not keep that promise is passed over, and said.

A record may come from another device, an older version or a hand that edited the file. Every record that leaves the
history has passed through here, so that the rooms above meet only what they know. The line on the disk stays as it is.
"""

import re
from collections.abc import Callable, Iterable
from typing import Annotated, Any

import msgspec

from rounds.record_kinds import KINDS, Promise

JSON = Any
Number = Annotated[float, msgspec.Meta(ge=-1e9, le=1e9)]
Share = Annotated[float, msgspec.Meta(ge=-1e4, le=1e4)]
Place = Annotated[int, msgspec.Meta(ge=1, le=999)]
Amount = Annotated[float, msgspec.Meta(ge=0.0, le=1e6)]
Small = Annotated[int, msgspec.Meta(ge=0, le=10**9)]
Moment = Annotated[str, msgspec.Meta(pattern=r"^20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?([+-]\d\d:\d\d|Z)$")]


class _Interval(msgspec.Struct):
    value: Number
    low: Number
    high: Number


class _After(msgspec.Struct):
    ph: _Interval | None = None
    ec_ms_cm: _Interval | None = None
    volume_l: _Interval | None = None


class _Step(msgspec.Struct):
    action: str
    product: str | None = None
    amount: Amount = 0.0
    unit: str = ""
    wait_min: Amount = 0.0
    text: str = ""
    why: str = ""
    cautions: list[str] = []
    after: _After = msgspec.field(default_factory=_After)
    explain: list[str] = []
    of_water: str | None = None
    thinned: Annotated[float, msgspec.Meta(ge=1.0, le=1e4)] = 1.0


class _Said(msgspec.Struct):
    text: str = ""
    instead: str = ""


class _Assumed(msgspec.Struct):
    volume_l: Number | None = None
    ph: Number | None = None
    ec_ms_cm: Number | None = None
    temperature_c: Number | None = None
    alkalinity_meq_l: Number | None = None


class _Input(msgspec.Struct):
    records: dict[str, str] | None = None
    answers: dict[str, str] | None = None
    asked: dict[str, Number] | None = None


class _Gaussian(msgspec.Struct):
    mean: list[Share]
    covariance: list[list[Share]]


class _Belief(msgspec.Struct):
    format: int = 0
    state: _Gaussian | None = None
    habits: _Gaussian | None = None
    passed_over: _Gaussian | None = None
    contested: Number | None = None
    at: Moment | None = None
    closed: Small = 0
    proven: Small = 0
    tried: bool = False
    dosed: bool = False
    last_item: str = ""
    surprises: list[tuple[Moment, Share, Share, Share, bool, str, str]] = []
    rivals: list[tuple[str, Share, Share, Share]] = []
    last: str | None = None
    digest: str = ""
    whole: tuple[Small, str] = (0, "")


class _Prediction(msgspec.Struct):
    mixed: _After | None = None
    next_morning: _After | None = None
    volume_l: Number | None = None
    belief: _Belief | None = None


class _Rise(msgspec.Struct):
    per_ml_l: Number
    sd: Amount = 0.0


class _Data(msgspec.Struct):
    """Every key of `data` that is looked up somewhere, whatever the kind of the record."""

    action: str = ""
    correction: str | None = None
    step: Place = 1
    stage: str = ""
    put_right: bool = False
    buffer: Number = 7.0
    temperature_c: Number | None = None
    product: str | None = None
    ml_per_l: Number | None = None
    water: str | None = None
    covers: list[str] = []
    apart: bool = False
    open: list[str] = []
    doses: list[str] = []
    answer: str = ""
    explain: list[str] = []
    findings: list[_Said] = []
    refusals: list[_Said] = []
    assumed: _Assumed | None = None
    input: _Input | None = None
    prediction: _Prediction | None = None
    steps: list[_Step] = []
    touches: list[str] = []
    answers: list[str] = []
    answered_at: list[Moment] = []
    sd: Amount | None = None
    how: str = ""
    rows: list[list[Number]] = []
    parts: dict[str, _Rise] = {}
    litres: Number | None = None
    ec_ms_cm: Number | None = None
    products: list[str] = []
    before: Number | None = None
    until: str | None = None
    about: str = ""
    own: bool = False
    reason: str = ""
    crop: str = ""
    regrows: bool = False
    filed: Small | bool | None = None
    running: bool = False
    left: bool = False
    gear: str = ""
    was_off: Number | None = None
    off_since: Moment | None = None


_KEYS = {each.name: each.type for each in msgspec.structs.fields(_Data)}
_FLAT = frozenset({str, int, float, bool, type(None)})
_OF_AN_OFFER = frozenset({"steps", "findings", "refusals", "assumed", "input", "explain"})
"""A correction in which one of these is odd is not one to pour by: its steps are left out with it."""
POURED_UNITS = frozenset({None, "", "mL", "L", "g", "kg"})
LARGEST_AMOUNT = 1e6
"""No more than this was ever poured or counted in one go. [the record's unit]"""
LARGEST_READING = 1e9
_QUICK: dict[Promise, tuple[float, float, frozenset[str | None] | None] | None] = {
    "a number": (-LARGEST_READING, LARGEST_READING, None), "an amount poured": (0.0, LARGEST_AMOUNT, POURED_UNITS),
    "an answer": None, "anything": None,
}  # fmt: skip
USUAL = {kind: _QUICK[row.value] for kind, row in KINDS.items() if row.value in _QUICK}
"""By kind what a first look can tell: ends and units of a number; None where a number, a yes or nothing will do."""


def odd_keys(data: dict[str, JSON]) -> list[str]:
    """Name the keys of a record's data that do not hold what they promise."""
    if _fits(data, _Data):
        return []
    return [key for key, value in data.items() if key in _KEYS and not _fits(value, _KEYS[key])]


def are_usual(data: dict[str, JSON]) -> bool:
    """Tell quickly that data are flat and hold what they promise; where it cannot tell, say no."""
    for key, value in data.items():
        if type(value) not in _FLAT and not (key == "covers" and type(value) is list):
            return False
    return _fits(data, _Data)


def without(data: dict[str, JSON], odd: Iterable[str]) -> dict[str, JSON]:
    """Give the data without its odd keys, and without the steps of a correction that is odd."""
    gone = set(odd)
    if gone & _OF_AN_OFFER:
        gone.add("steps")
    return {key: value for key, value in data.items() if key not in gone}


def odd_value(kind: str, value: JSON, unit: str | None) -> str:
    """Say what is odd about the value of a record of a kind; empty where nothing is.

    Examples
    --------
    >>> odd_value("dose", 12.5, "mL"), odd_value("dose", "much", "mL")
    ('', 'its amount is not a number from 0 to 1,000,000')
    """
    known = KINDS.get(kind)
    check = _VALUES.get(known.value) if known is not None else None
    return check(value, unit) if check is not None else ""


def counts_without_value(kind: str) -> bool:
    """Tell whether a record counts even if nobody knows its value, as where something was poured."""
    known = KINDS.get(kind)
    return known is not None and known.counts_without_value


def _dose(value: JSON, unit: str | None) -> str:
    if unit not in POURED_UNITS:
        return "its unit is not one that is poured in"
    if value is not None and not _is_number(value, 0.0, LARGEST_AMOUNT):
        return "its amount is not a number from 0 to 1,000,000"
    return ""


def _stock(value: JSON, _: str | None) -> str:
    return "" if _is_number(value, 0.0, LARGEST_READING) else "its amount is not a number from 0 on"


def _reading(value: JSON, _: str | None) -> str:
    return "" if _is_number(value, -LARGEST_READING, LARGEST_READING) else "its value is not a number that can be read"


def _check(value: JSON, _: str | None) -> str:
    if isinstance(value, str | bool | None) or _is_number(value, -LARGEST_READING, LARGEST_READING):
        return ""
    return "its answer is not one that can be given"


def _round(value: JSON, _: str | None) -> str:
    return "" if value in ("started", "closed") else "it says neither started nor closed"


_VALUES: dict[Promise, Callable[[JSON, str | None], str]] = {
    "a number": _reading, "an answer": _check, "an amount poured": _dose, "an amount": _stock,
    "started or closed": _round,
}  # fmt: skip


def _is_number(value: JSON, low: float, high: float) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high


def _fits(value: JSON, shape: Any) -> bool:
    try:
        msgspec.convert(value, shape)
    except msgspec.ValidationError:
        return False
    return True


DEEPEST = 16
_NOT_BRACKETS = bytes(set(range(256)) - set(b"[]{}"))
_TEXTS = re.compile(rb'"(?:[^"\\]|\\.)*"')


def is_deep(text: bytes, deepest: int = DEEPEST + 2) -> bool:
    """Tell whether JSON is nested deeper than a record may be.

    Examples
    --------
    >>> is_deep(b'{"data":{"a":[1,["[[["]]}}'), is_deep(b"[" * 900 + b"]" * 900)
    (False, True)
    """
    if text.count(b"{") + text.count(b"[") <= deepest:
        return False
    return not _closes(text, deepest) and not _closes(_TEXTS.sub(b"", text), deepest)


def _closes(text: bytes, deepest: int) -> bool:
    """Take the innermost brackets away, level by level; brackets in texts may be in the way."""
    brackets = text.translate(None, _NOT_BRACKETS)
    for _ in range(deepest):
        if not brackets:
            break
        brackets = brackets.replace(b"[]", b"").replace(b"{}", b"")
    return not brackets
