"""What stands behind the form of marking out: from the typed texts to a plan, and to the lines of each view."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from rounds.errors import BadInput, NotSaved
from rounds.farm.rewriting import Change
from rounds.markout.as_built import Built, compare
from rounds.markout.cautions import warnings_of
from rounds.markout.into_farm import prepare
from rounds.markout.mistakes import InputMistake, SeveralMistakes
from rounds.markout.plan import ChannelPlan, plan
from rounds.markout.report import bench_lines, caution_lines, material_lines, summary_lines, warning_lines
from rounds.markout.terminal import draw
from rounds.markout.typed import flows_l_min, lengths_mm, read
from rounds.screens.markout_form import plan_texts

View = Literal["results", "drawing", "lists", "farm"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A plan, or what is wrong with what was typed."""

    plan: ChannelPlan | None
    mistakes: tuple[InputMistake, ...] = ()


def work_out(texts: Mapping[str, str]) -> Outcome:
    """Read the form and lay the channel out."""
    try:
        return Outcome(plan=plan(read(plan_texts(texts))))
    except SeveralMistakes as error:
        return Outcome(plan=None, mistakes=error.mistakes)


def mistake_lines(outcome: Outcome) -> list[str]:
    """What is still wanted, in one line; then every other mistake with a sentence."""
    wanted = [each for each in outcome.mistakes if each.is_missing]
    lines = [f"✗ {mistake}" for mistake in outcome.mistakes if mistake not in wanted]
    if wanted:
        lines.append("Still wanted: " + ", ".join(_wanted(mistake) for mistake in wanted) + ".")
    return lines


def view_lines(view: View, worked_out: ChannelPlan, texts: Mapping[str, str], size: tuple[int, int]) -> list[str]:
    """The lines of a view of the plan, for the room there is."""
    width, height = size
    if view == "drawing":
        return draw(worked_out, width, height)
    if view == "lists":
        return [*caution_lines(), "", *bench_lines(worked_out), *material_lines(worked_out)]
    lines = [*warning_lines(warnings_of(worked_out)), "", *built_lines(worked_out, texts), *summary_lines(worked_out)]
    return [*lines, *draw(worked_out, width)] if height >= 36 and width >= 70 else lines


def built_lines(worked_out: ChannelPlan, texts: Mapping[str, str]) -> list[str]:
    """What was built beside the plan; nothing where nothing was measured."""
    names = ("built_packers", "built_levels", "jug")
    if not any(name in texts for name in names):
        return []
    try:
        packers, levels = (lengths_mm(texts[name]) if name in texts else () for name in names[:2])
        flows = flows_l_min(texts["jug"]) if "jug" in texts else ()
        found = compare(worked_out, Built(packers_mm=packers, levels_mm=levels, flows_l_min=flows)).findings
    except BadInput as error:
        return [f"✗ As built: {error}", ""]
    return ["As built:", *(f"  ! {text}" for text in found or ("as planned",)), ""]


def change_of(worked_out: ChannelPlan, texts: Mapping[str, str], farm: Path | None) -> Change:
    """What farm.toml would become.

    Raises
    ------
    RoundsError
        Where there is no farm, no id, or they do not fit together.
    """
    if farm is None:
        raise BadInput("No farm is open.", "`rounds FARM` opens one.")
    if "farm_id" not in texts:
        raise BadInput("The channel's id is missing.", "Such as channel-11, under Into the farm.")
    return prepare(farm, worked_out, channel_id=texts["farm_id"].strip(), name=texts.get("farm_name", "").strip(),
                   reservoir=texts.get("farm_reservoir", "").strip())  # fmt: skip


def change_lines(change: Change) -> list[str]:
    """The difference that writing would make."""
    if not change.is_new:
        return ["farm.toml says all of this already."]
    return ["F12 once more writes this into farm.toml:", "", *change.preview().splitlines()]


def print_pdf(worked_out: ChannelPlan, texts: Mapping[str, str], folder: Path) -> Path:
    """Write the PDF that the form names.

    Raises
    ------
    RoundsError
        Where no file is named or it cannot be written.
    """
    from rounds.markout.pdf import as_pdf

    if "pdf" not in texts:
        raise BadInput("The PDF file is missing.", "Such as channel.pdf, under On paper.")
    path = folder / texts["pdf"].strip()
    try:
        path.write_bytes(as_pdf(worked_out, strip=texts.get("strip", "").lower().startswith("y")))
    except (OSError, ValueError) as error:
        raise NotSaved(f"{path.name} could not be written: {error}.", "Choose another name.") from error
    return path


def _wanted(mistake: InputMistake) -> str:
    words = {"spacing": "spacing or crop", "hole": "hole or pot"}
    return words.get(mistake.field, mistake.field)
