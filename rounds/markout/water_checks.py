"""What of the water, the pump and the reservoir of a channel cannot be used."""

from __future__ import annotations

from collections.abc import Iterator

from rounds.errors import BadInput
from rounds.markout.inputs import Inputs
from rounds.markout.mistakes import InputMistake
from rounds.science.pump_curve import check_curve


def water_mistakes(inputs: Inputs) -> Iterator[InputMistake]:
    """Yield every mistake in what flows, in the order of the form."""
    if not 0.01 <= inputs.flow_l_min <= 200:
        yield InputMistake(
            field="flow",
            sentence=f"A flow of {inputs.flow_l_min:g} L/min into a channel is not believable.",
            hint="0.01 to 200 L/min is expected.",
        )
    yield from _volumes(inputs)
    yield from _losses(inputs)
    if inputs.pump_curve is not None:
        try:
            check_curve(inputs.pump_curve)
        except BadInput as error:
            yield InputMistake(field="pump", sentence=error.sentence, hint=error.hint)


def _volumes(inputs: Inputs) -> Iterator[InputMistake]:
    for field, litres in (
        ("reservoir_full", inputs.reservoir_l),
        ("reservoir_working", inputs.working_l),
        ("per_plant", inputs.per_plant_l),
    ):
        if litres is not None and not 0 < litres <= 1e6:
            yield InputMistake(
                field=field,
                sentence=f"{litres:g} L is not a volume that can be used here.",
                hint="More than 0 is expected.",
            )
    if inputs.reservoir_l and inputs.working_l and inputs.working_l > inputs.reservoir_l:
        yield InputMistake(
            field="reservoir_working",
            sentence=f"{inputs.working_l:g} L at work is more than the reservoir holds.",
            hint=f"At most {inputs.reservoir_l:g} L is expected.",
        )


def _losses(inputs: Inputs) -> Iterator[InputMistake]:
    if not 1 <= inputs.temperature_c <= 45:
        yield InputMistake(
            field="temperature",
            sentence=f"Water of {inputs.temperature_c:g} degC is not believable here.",
            hint="1 to 45 degC is expected.",
        )
    if not 0 <= inputs.fittings_k <= 1000:
        yield InputMistake(
            field="fittings", sentence="The sum of fitting losses cannot be used.", hint="0 to 1000 is expected."
        )
    if not 2 <= inputs.return_run_per_rise <= 2000:
        yield InputMistake(
            field="return_slope", sentence="The slope of the return cannot be used.", hint="Such as 1:50."
        )
