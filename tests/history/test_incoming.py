"""Strict JSON as RFC 8259 has it, narrowed as RFC 7493 (I-JSON) asks: no key twice, no number that cannot be kept."""

import pytest

from rounds.errors import BadInput
from rounds.history.strict import SizeLimits, strict_doc, strict_json


@pytest.mark.parametrize(
    "text",
    [
        b'{"a":NaN}', b'{"a":Infinity}', b'{"a":-Infinity}', b'{"a":1e400}', b'{"a":1,"a":2}', b'{"a":{"b":1,"b":1}}',
        b'{"a":' + b"9" * 4300 + b"}", b"\xef\xbb\xbf{}", b'{"a":"\xff"}', b"{'a':1}", b'{"a":1,}', b"{}{}", b"",
        b"[" * 100_000, b'{"a":' * 40 + b"1" + b"}" * 40,
    ],
    ids=range(15),
)  # fmt: skip
def test_json_that_is_not_strict_is_refused(text):
    with pytest.raises(BadInput):
        strict_json(text)
    with pytest.raises(BadInput):
        strict_doc(text)


@pytest.mark.parametrize("text", [b"[]", b'"a"', b"1", b"null"])
def test_a_record_must_be_an_object(text):
    with pytest.raises(BadInput):
        strict_doc(text)


@pytest.mark.parametrize("text", [b'{"a": 1}', b'{"a":1.50}', b'{"a":"\\u00fc"}', b'{"b":[{"c":null}],"a":true}'])
def test_other_spellings_of_plain_json_are_read_the_same_way(text):
    assert strict_doc(text) == strict_json(text)


def test_a_line_that_is_too_long_is_refused():
    with pytest.raises(BadInput, match="long"):
        strict_doc(b'{"a":"' + b"x" * 100 + b'"}', SizeLimits(line_bytes=50))
