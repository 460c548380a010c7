"""What a correction asks of the grower: gathered from its steps, refusals and findings, each once."""

from __future__ import annotations

from collections.abc import Iterator

from rounds.book.entries import AIRED, BUFFER_4, BUFFER_4_PH, FILLED_HOW, JAR, SPLASHED, STILL, STRIP
from rounds.book.offer import Correction, Finding, Inquiry, Refusal, Step

A_PH = ("a pH",)
YES_NO = ("yes", "no")
_BY_STEP = {"jar_test": (JAR, A_PH), "buffer_4": (BUFFER_4, A_PH), "strip": (STRIP, A_PH),
            "buffer_dip": ("buffer", A_PH), "look": ("look", YES_NO)}  # fmt: skip
_BUFFERS = {"buffer_dip": 7.0, "buffer_4": BUFFER_4_PH}
_BY_REFUSAL = {
    "buffer-off": ("calibrated",), "bottle-doubtful": ("bottles",),
    "likely-bottle": ("bottles",), "likely-water": ("bottles",), "likely-stuck": ("calibrated",),
    "likely-meter": (STRIP, "calibrated"),
}  # fmt: skip
_ANSWERS = {STRIP: A_PH, "second-meter": A_PH}
_ON_A_SECOND_METER = {"reading-too-high", "too-small"}


HOW_FILLED = (STILL, SPLASHED, AIRED)


def asked_in(correction: Correction) -> tuple[Inquiry, ...]:
    """All that a correction asks, in its words; an answer is entered under the code as its item."""
    found = [
        *_of_steps(correction.steps),
        *_beside(correction.refusals),
        *_of_findings(correction.findings),
        *_meters(correction),
    ]
    return tuple({each.code: each for each in reversed(found)}.values())[::-1]


def _of_steps(steps: tuple[Step, ...]) -> Iterator[Inquiry]:
    for step in steps:
        if step.action in _BY_STEP:
            code, answers = _BY_STEP[step.action]
            yield Inquiry(
                code=code, text=step.text, answers=answers, step=step.number, product=step.product,
                ml_per_l=step.amount or None, of_water=step.of_water, buffer=_BUFFERS.get(step.action),
            )  # fmt: skip


def _beside(refusals: tuple[Refusal, ...]) -> Iterator[Inquiry]:
    for refusal in refusals:
        about = refusal.says.code if refusal.says is not None else refusal.code
        for code in _BY_REFUSAL.get(about, ()):
            yield Inquiry(code=code, text=f"{refusal.text} {refusal.instead}", answers=_ANSWERS.get(code, YES_NO))


def _of_findings(findings: tuple[Finding, ...]) -> Iterator[Inquiry]:
    for finding in findings:
        if finding.code == "fresh-fill":
            yield Inquiry(code=FILLED_HOW, text=finding.text, answers=HOW_FILLED)


def _meters(correction: Correction) -> Iterator[Inquiry]:
    said: tuple[Refusal | Finding, ...] = (*correction.refusals, *correction.findings)
    for told in said:
        if told.says is not None and told.says.code in _ON_A_SECOND_METER:
            yield Inquiry(code="second-meter", text=told.text, answers=A_PH)
