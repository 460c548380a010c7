"""Dose tables and plans as plain numbers for programs, and as lines for a terminal."""

from __future__ import annotations

from typing import Any

from rounds.relief.easier import Easier
from rounds.relief.tables import STOP, Cell, DoseTable, Row


def table_form(table: DoseTable) -> dict[str, Any]:
    """A dose table in its versioned form; every cell with the readings it was worked out for."""
    return {
        "reservoir": table.reservoir.id,
        "from": table.first.isoformat(),
        "to": table.last.isoformat(),
        "holds": list(table.holds),
        "levels_cm": [list(level) for level in table.levels_cm],
        "ec_rows": [_row_form(row) for row in table.ec_rows],
        "ph_rows": [_row_form(row) for row in table.ph_rows],
        "products": [product.id for product in table.products],
        "stop": STOP,
    }


def easier_form(plan: Easier) -> dict[str, Any]:
    """What can be prepared for one reservoir."""
    bottles = plan.bottles
    return {
        "reservoir": plan.reservoir.id,
        "top_up": plan.tank.to_json() if plan.tank else None,
        "change_out": plan.change_out.to_json() if plan.change_out else None,
        "bottles": {"pairs": bottles.pairs, "a_ml": bottles.a_ml, "b_ml": bottles.b_ml, "text": bottles.text}
        if bottles
        else None,
        "said": list(plan.said),
    }


def easier_lines(plan: Easier) -> list[str]:
    """The same for reading."""
    lines = [plan.reservoir.name, *(f"· {text}" for text in plan.said)]
    lines += [f"· Bottles: {plan.bottles.text}"] if plan.bottles else []
    for sheet in (plan.tank, plan.change_out):
        lines += ["", *sheet.as_lines()] if sheet else []
    return lines


def _row_form(row: Row) -> dict[str, Any]:
    return {"low": row.low, "high": row.high, "cells": [_cell_form(cell) for cell in row.cells]}


def _cell_form(cell: Cell) -> dict[str, Any]:
    read = cell.readings
    return {
        "readings": {
            "ph": read.ph, "ec_ms_cm": read.ec_ms_cm, "temperature_c": read.temperature_c, "dip_cm": read.dip_cm,
        },
        "steps": [
            {"action": step.action, "product": step.product, "amount": step.amount, "unit": step.unit}
            for step in cell.poured
        ],
        "call": cell.call,
    }  # fmt: skip
