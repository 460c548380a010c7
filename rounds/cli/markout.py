"""`rounds markout`: lay out a channel, draw it, compare it with what was built, and write it into the farm."""

from __future__ import annotations

import argparse
import json
import re
import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rounds.cli.error_texts import in_words
from rounds.cli.json_keys import tell_keys
from rounds.cli.output import done, print_form
from rounds.errors import BadInput, NotSaved
from rounds.markout.fields import FIELDS

if TYPE_CHECKING:
    from rounds.markout.as_built import Comparison
    from rounds.markout.plan import ChannelPlan

_EXAMPLE = """example:
  rounds markout --length 4.2m --section 120x60mm --slope 1:40 --spacing 250mm --hole 50mm --first-site 150mm \\
    --outlet-clearance 80mm --flow 1.2L/min --supports 4
"""
_BELOW_ZERO = re.compile(r"-[0-9.,]")

_KEYS = """
format                1
length_mm, slope_run_per_rise, fall_mm
sites_mm              all sites, from the inlet
empty_sites_mm        sites left empty
left_out_sites_mm     they would meet the inspection opening
holes                 at_mm is from the inlet
  at_mm, diameter_mm, face, what
outlet_at_mm
supports
  at_mm, packer_mm, ground_mm
stretches             from support to support
  from_mm, to_mm, fall_mm, least_fall_mm, sag_mm
pond_mm, worst_pond_mm
film                  null where the channel runs full
  depth_mm, speed_m_s, regime, reynolds
volume_l, transit_s, run_back_l, run_back_room_l
drainage
  outlet_l_min, outlet_rooted_l_min
  return_l_min, return_rooted_l_min
supply                null for what was not given
  wanted_l_min, wanted_head_m, lift_m, friction_m, minor_m
  pump_head_m, working_l_min, working_head_m
  channel_flows_l_min, spread_percent
across                channels beside each other
  pitch_mm, fits, aisles, beside_each_aisle
reservoir_wanted_l
material              what to buy
  what, count, each_mm
cuts                  how to cut it
  what, waste_mm, proven_least, joints
  bars
    stock_mm, pieces_mm, offcut_mm
cautions              sentences
warnings              what to think over
  code, sentence, reason
[as_built]            with measured values
  as_planned, packers_off_mm, fall_mm, pond_mm, spread_percent
  stretches
    from_mm, to_mm, planned_mm, measured_mm
  findings            sentences
[into]                with --into
  preview, written
"""


def add(subparsers: Any) -> None:
    """Add the verb with all its options."""
    parser = subparsers.add_parser(
        "markout", help="lay out a channel before it is drilled", epilog=_EXAMPLE, allow_abbrev=False,
        description="Lay out a channel: sites, holes, packers, film, run-back, pump, material. Every value may carry "
        "its unit; a bare number is in the unit shown.", formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    # argparse takes "-5,0,12mm" for an option otherwise, and says nothing a grower understands about "-5mm".
    parser._negative_number_matcher = _BELOW_ZERO
    for field in FIELDS:
        usual = f" (bare: {field.usual})" if field.usual else ""
        start = f" [{field.start}]" if field.start else ""
        text = f"{field.help}{usual}{start}; such as {field.example}".replace("%", "%%")
        if field.is_yes_or_no:
            parser.add_argument(field.option, nargs="?", const="yes", metavar="yes/no", help=field.help)
        else:
            parser.add_argument(field.option, metavar="TEXT", help=text)
    _add_output(parser.add_argument_group("output"))
    _add_built(parser.add_argument_group("as built: measured values to compare with the plan"))
    _add_farm(parser.add_argument_group("into the farm"))
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Work the plan out, and do with it what was asked.

    Returns
    -------
    int
        0 done, 1 not written into the farm since nobody agreed, 2 wrong input.
    """
    from rounds.markout.plan import plan
    from rounds.markout.typed import read

    texts = {field.name: getattr(args, field.name) for field in FIELDS}
    try:
        worked_out = plan(read({name: text for name, text in texts.items() if text is not None}))
        comparison = _compared(args, worked_out)
    except BadInput as error:
        return _wrong(error, as_json=args.json)
    _save(args, worked_out)
    if args.json:
        return _print_json(args, worked_out, comparison)
    print("\n".join(_lines(worked_out, comparison)))
    return _into_farm(args, worked_out) if args.into else 0


def _add_output(group: Any) -> None:
    group.add_argument("--json", action="store_true", help="print the plan as JSON, format 1")
    group.add_argument("--svg", type=Path, metavar="FILE", help="write the drawing to scale")
    group.add_argument("--pdf", type=Path, metavar="FILE", help="write drawing, drill list and all else for the bench")
    group.add_argument("--strip", action="store_true", help="with --pdf: add the marking strip in true size")


def _add_built(group: Any) -> None:
    group.add_argument("--built-packers", metavar="TEXT", help="packers as they stand, such as 105,70,36,0mm")
    group.add_argument("--built-levels", metavar="TEXT", help="the floor's height over each support: 905,870,836,800mm")
    group.add_argument("--jug", metavar="TEXT", help="timed jugs, such as 1L/52s,1L/55s; or 1.15,1.09L/min")


def _add_farm(group: Any) -> None:
    group.add_argument("--into", type=Path, metavar="FARM", help="show the change to farm.toml, then write it")
    group.add_argument("--id", metavar="ID", help="id of the channel; a known one is changed in place")
    group.add_argument("--name", default="", metavar="NAME", help="name of the channel")
    group.add_argument("--reservoir", default="", metavar="ID", help="the reservoir that feeds it, for a new channel")
    group.add_argument("--yes", action="store_true", help="write without asking")


def _compared(args: argparse.Namespace, worked_out: ChannelPlan) -> Comparison | None:
    if not (args.built_packers or args.built_levels or args.jug):
        return None
    from rounds.markout.as_built import Built, compare
    from rounds.markout.typed import flows_l_min, lengths_mm

    return compare(worked_out, Built(
        packers_mm=lengths_mm(args.built_packers) if args.built_packers else (),
        levels_mm=lengths_mm(args.built_levels) if args.built_levels else (),
        flows_l_min=flows_l_min(args.jug) if args.jug else (),
    ))  # fmt: skip


def _wrong(error: BadInput, *, as_json: bool) -> int:
    from rounds.markout.mistakes import SeveralMistakes

    if not as_json:
        print(error, file=sys.stderr)
        return 2
    mistakes = error.mistakes if isinstance(error, SeveralMistakes) else ()
    data = [{"field": m.field, "sentence": m.sentence, "hint": m.hint} for m in mistakes]
    told = {"code": error.code, "sentence": error.sentence, "hint": error.hint, "mistakes": data}
    print_form(json.dumps({"format": 1, "error": told}, ensure_ascii=False, indent=2))
    return 2


def _save(args: argparse.Namespace, worked_out: ChannelPlan) -> None:
    if args.svg:
        from rounds.markout.svg import as_svg

        _write(args.svg, as_svg(worked_out).encode())
    if args.pdf:
        from rounds.markout.pdf import as_pdf

        _write(args.pdf, as_pdf(worked_out, strip=args.strip))


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
        done(f"{path} was written.")
    except OSError as error:
        raise in_words(NotSaved, "not-written", path=str(path), why=str(error.strerror)) from error


def _lines(worked_out: ChannelPlan, comparison: Comparison | None) -> list[str]:
    from rounds.markout.cautions import warnings_of
    from rounds.markout.report import list_lines, top_lines
    from rounds.markout.terminal import draw

    top = [part for line in top_lines(worked_out) for part in textwrap.wrap(line, 79, subsequent_indent="    ") or [""]]
    lines = [*top, "", *draw(worked_out), "", *list_lines(worked_out)]
    if count := len(warnings_of(worked_out)):
        lines.append(f"{count} thing{'s' if count > 1 else ''} to think over: at the top, with the cautions.")
    if comparison is not None:
        lines += ["", "As built:", *(f"  ! {text}" for text in comparison.findings or ("as planned",))]
    return lines


def _data(worked_out: ChannelPlan, comparison: Comparison | None) -> dict[str, Any]:
    from rounds.markout.report_data import as_data, comparison_data

    built = {} if comparison is None else {"as_built": comparison_data(comparison)}
    return as_data(worked_out) | built


def _print_json(args: argparse.Namespace, worked_out: ChannelPlan, comparison: Comparison | None) -> int:
    """Print one object; into the farm it writes with --yes alone, since a program cannot be asked."""
    data = _data(worked_out, comparison)
    if args.into:
        from rounds.farm.rewriting import write

        change = _change(args, worked_out)
        if args.yes and change.is_new:
            write(change)
            done(f"The channel was written to {change.path}.")
        data["into"] = {"preview": change.preview(), "written": bool(args.yes and change.is_new)}
    print_form(json.dumps(data, ensure_ascii=False, indent=2))
    return 0


def _into_farm(args: argparse.Namespace, worked_out: ChannelPlan) -> int:
    from rounds.farm.rewriting import write

    change = _change(args, worked_out)
    if not change.is_new:
        print(f"\n{change.path} says all of this already.")
        return 0
    print(f"\n{change.preview()}\n")
    if not args.yes and not sys.stdin.isatty():
        print("Nothing was written: --yes writes it.")
        return 0
    if not args.yes and input("Write this? yes/no: ").strip().lower() not in ("y", "yes"):
        print("Nothing was written.")
        return 1
    write(change)
    done(f"The channel was written to {change.path}.")
    print(f"Written to {change.path}.")
    return 0


def _change(args: argparse.Namespace, worked_out: ChannelPlan) -> Any:
    from rounds.markout.into_farm import prepare

    if not args.id:
        raise in_words(BadInput, "no-channel-id")
    return prepare(args.into, worked_out, channel_id=args.id, name=args.name, reservoir=args.reservoir)
