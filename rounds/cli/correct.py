"""`rounds correct FARM RESERVOIR [LINE]`: the steps that put a reservoir right, without writing anything down."""

from __future__ import annotations

import argparse
from typing import Any

from rounds.book.actions import ASKED
from rounds.book.entries import BUFFER_4, JAR, STRIP
from rounds.book.offer import Correction, Readings, Step, form_of
from rounds.checklist.quick_line import parse_line
from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import add_farm, add_person, open_session, print_json, say_who_walks
from rounds.cli.json_keys import tell_keys
from rounds.errors import BadInput, NotFound
from rounds.farm.stations import Reservoir
from rounds.walk.offering import answer_of, readings_for, work_out
from rounds.walk.session import Session
from rounds.walk.walker import person_form

_KEYS = """
format             1
reservoir          its id
assumed            what it was worked out from; null where not known
  volume_l, ph, ec_ms_cm, temperature_c, alkalinity_meq_l
steps              in the order they are done
  number           its place, from 1
  action, product, amount, unit
  thinned          so many times the bottle is thinned before it is poured
  of_water         the water of a jar test, or null for the reservoir's own
  wait_min         how long to wait afterwards
  cautions, text   the sentences to read before and while pouring
  why, explain     the reason; the working of every number
  says, because    what text and why are made from, or null
    code, values   values may hold messages and lists of them
  after            what the reservoir will be
    volume_l, ph, ec_ms_cm
      value, low, high
findings           what the readings mean
  code, text, severity
  says             what text is made from, or null
    code, values
refusals           steps that are not offered
  code, text, instead
  says             what text and instead are made from, or null
    code, values
questions          what is asked, whose answer may change the correction
  code             what is asked; the item to enter the answer under
  text             in words
  answers          what may be answered
  [step]           the number of the step that asks it
  [product], [ml_per_l]   of a jar test: so much of it into each litre
  [of_water]       of which water; without it the reservoir's own
  [buffer]         the pH of the buffer to dip into
explain            the working of the whole
answer             how this reservoir has answered so far
person             who walks, or null
  id, name, role
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("correct", help="the steps that put a reservoir right")
    add_farm(parser)
    parser.add_argument("reservoir", metavar="RESERVOIR")
    parser.add_argument("line", nargs="?", metavar="LINE", help='such as "ph 6.4 ec 1.9 t 21 dip 31cm"')
    parser.add_argument("--explain", action="store_true", help="show the working of every number")
    add_person(parser)
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the correction."""
    session = open_session(args, read_only=True)
    reservoir = session.farm.reservoir(args.reservoir)
    readings = _typed(session, reservoir, args.line) if args.line else readings_for(session, reservoir.id)
    if readings is None:
        raise in_words(NotFound, "not-read-lately", reservoir=reservoir.name)
    correction = work_out(session, reservoir.id, readings)
    if args.json:
        form = form_of(correction) | {"answer": answer_of(session, reservoir.id)}
        print_json(form | {"person": person_form(session)})
    else:
        say_who_walks(session)
        _print(reservoir, correction, explain=args.explain)
        print(f"  {answer_of(session, reservoir.id)}")
    return 1 if correction.refusals and not correction.steps else 0


def _typed(session: Session, reservoir: Reservoir, line: str) -> Readings:
    items = [item for item in session.items(reservoir) if item.is_number and item.names]
    values = {e.item_id: e.value for e in parse_line(line, items, gallon=session.farm.place.gallon)}
    beside = [item for item in (JAR, STRIP, BUFFER_4) if item in values]
    if beside:
        raise in_words(BadInput, "not-tried-out", items=" and a ".join(beside))
    meters = {item: session.farm.meter_for(item) for item in ("ph", "ec")}
    ph_meter, ec_meter = meters["ph"], meters["ec"]
    return Readings(
        at=session.now(),
        ph=values.get("ph"),
        ec_ms_cm=values.get("ec"),
        temperature_c=values.get("t"),
        dip_cm=values.get("dip"),
        ph_meter=ph_meter.id if ph_meter else None,
        ec_meter=ec_meter.id if ec_meter else None,
    )


def _print(reservoir: Reservoir, correction: Correction, *, explain: bool) -> None:
    print(reservoir.name)
    for finding in correction.findings:
        print(f"  · {finding.text}")
    for refusal in correction.refusals:
        print(f"  ! {refusal.text} {refusal.instead}".rstrip())
    for step in correction.steps:
        print(f"  {step.number}. {step.text}")
        print("".join(f"       {line}\n" for line in _below(step, explain=explain)), end="")
    if not correction.steps and not correction.refusals:
        print("  Nothing has to be done.")
    for line in correction.explain if explain else ():
        print(f"  {line}")


def _below(step: Step, *, explain: bool) -> list[str]:
    """What stands below a step: what comes of it or why it is asked, what to beware of, and its working."""
    cautions = [f"! {caution}" for caution in step.cautions]
    if step.action in ASKED:
        return [*([step.why] if step.why else []), *cautions]
    after, wait = step.after, f"; wait {step.wait_min:.0f} min" if step.wait_min > 0 else ""
    foreseen = (
        ""
        if after is None
        else (
            f"afterwards pH {after.ph.value:.2f} ({after.ph.low:.2f} to {after.ph.high:.2f}), "
            f"EC {after.ec_ms_cm.value:.2f} mS/cm, {after.volume_l.value:.0f} L{wait}"
        )
    )
    return [foreseen, *cautions, *(step.explain if explain else ())]
