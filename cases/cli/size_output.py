"""Sizing in the terminal: for every check below the wanted margin, size by size."""

from __future__ import annotations

import math

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cases.analyses.sizing import JointSizing, PitchBound, Sizing
from cases.report.data.statements import margin_words
from femcore.base.numbers import engineering, plain
from models.boat.boat import Boat
from models.checks.not_checked import never_checked

ROTATIONAL_STIFFNESS_UNIT = "N·m/rad"


def sizing_tables(sized: tuple[JointSizing, ...], boat: Boat) -> list[RenderableType]:
    """What has no check; by joint: checks not made, work order, checks below the margin, sizes tried, bound on stiffness; where
    the stay has no torque, once where it is the same place with every joint.
    """
    never = "; ".join(f"{one.part} ({one.what})" for one in never_checked(boat))
    places = {one.joint: _stay_words(one) for one in sized if one.stay_forward}
    once = len(set(places.values())) == 1
    shown: list[RenderableType] = [Text(f"In no check, with any joint: {never}.")]
    for one in sized:
        shown += _of_joint(one)
        if not once and one.joint in places:
            shown.append(Text(places[one.joint]))
    return [*shown, Text(next(iter(places.values())))] if once else shown


def _stay_words(one: JointSizing) -> str:
    """Where the stay would have no torque, each place with its cases."""
    cases: dict[str, list[str]] = {}
    for name, forward in one.stay_forward.items():
        cases.setdefault(_ahead(forward), []).append(plain(name))
    places = "; ".join(f"{place} ({', '.join(names)})" for place, names in cases.items())
    return f"Torque-free attachment of the stay, at the same height: {places}."


def _of_joint(one: JointSizing) -> list[RenderableType]:
    shown: list[RenderableType] = [Text(plain(one.joint), style="bold")]
    if one.no_answer:
        return [*shown, Text(f"No answer: {plain(one.no_answer)}.")]
    if one.not_checked:
        parts = list(dict.fromkeys(f"{w.part}: {w.check}" for w in one.not_checked))
        shown.append(Text("Not checked, so not assessed: " + "; ".join(plain(p) for p in parts) + "."))
    if order := work_order(one):
        shown.append(
            Text("Work order: " + "; ".join(f"{what}: {size}" for what, size in order.items()) + ".")
        )
    if not one.sizings and not one.failing:
        shown.append(Text(f"No check that was made is below a margin of {one.target:g}."))
    if one.failing:
        worst = [f"{w.part}: {w.check} (margin {margin_words(w.margin)})" for w in one.failing]
        shown.append(Text("Still inadequate: " + "; ".join(plain(w) for w in worst) + "."))
    for number, sizing in enumerate(one.sizings):
        shown += _of_sizing(sizing, one.target, "with the sizes above; " if number else "")
    if one.bound is not None:
        shown.append(Text(_bound_words(one.bound)))
    return shown


def work_order(one: JointSizing) -> dict[str, str]:
    """What is to be made in another size than entered, and in which: of a size raised for several checks, the last."""
    return {
        plain(sizing.design_variable): plain(sizing.steps[sizing.chosen].size)
        for sizing in one.sizings
        if sizing.chosen
    }


def _of_sizing(sizing: Sizing, target: float, start: str) -> list[RenderableType]:
    table = Table(
        title=Text(
            f"{plain(sizing.part)}: {plain(sizing.check)}; {start}size varied: {sizing.design_variable}"
        ),
        title_justify="left",
    )
    for head in ("size", "margin", "at first load", "torque", "bending", "force", "pitch stiffness"):
        table.add_column(Text(head), justify="left" if head == "size" else "right")
    for number, step in enumerate(sizing.steps):
        table.add_row(
            Text(step.size, style="bold" if number == sizing.chosen else ""),
            _margin(step.margin), _margin(step.at_first_load), engineering(step.torque, "N·m"),
            engineering(step.bending, "N·m"), engineering(step.force, "N"), _stiffness(step.pitch),
        )  # fmt: skip
    taken = (
        "No stock size is adequate."
        if sizing.chosen is None
        else f"Choose {sizing.steps[sizing.chosen].size}."
    )
    attracts_own_load = (
        " Most of the added capacity is used up by load that the stiffer joint attracts."
        if sizing.attracts_own_load
        else ""
    )
    return [table, Text(f"{taken}{attracts_own_load} (Lowest acceptable margin: {target:g}.)")]


def _bound_words(bound: PitchBound) -> str:
    said = (
        f"Torque capacity of the joint, with safety factors: {engineering(bound.allowed, 'N·m')} ({bound.part}). Torque in "
        f"racking ({plain(bound.case)}): {engineering(bound.torque, 'N·m')}, {engineering(bound.rigid, 'N·m')} if rigid. "
    )
    if bound.most is None:
        return said + "At no stiffness does the joint attract more than its capacity."
    return (
        f"{said}Highest pitch stiffness within the capacity: {engineering(bound.most, ROTATIONAL_STIFFNESS_UNIT)}; the joint has "
        f"{_stiffness(bound.own)} (half-torque stiffness {engineering(bound.k_half, ROTATIONAL_STIFFNESS_UNIT)})."
    )


def _ahead(forward: float) -> str:
    return f"{engineering(abs(forward), 'm')} {'ahead of' if forward > 0 else 'behind'} the beam's axis"


def _margin(value: float) -> str:
    return "–" if math.isnan(value) else f"{value:+.2f}".replace("-", "−")


def _stiffness(value: float) -> str:
    return "rigid" if math.isinf(value) else engineering(value, ROTATIONAL_STIFFNESS_UNIT)
