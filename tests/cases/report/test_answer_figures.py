"""Every figure of the answer's sentences against the analysis: value, unit, sign and order; none may lack its value here."""

import math
import re

import numpy as np
import pytest

from cases.report.data.results import results
from femcore.base.units import si
from tests.cases.report.numbers_boat import analysis

TORQUE, BENDING = 4, 3
FIGURE = re.compile(r"([−+]?\d+(?:\.\d+)?)(?:[ \u00a0](kN·m/rad|kN/m|N/m|kN·m|N·m|kN|N|mrad|mm|%))?")
REL_TOL_SHOWN = 6e-3
"""Of a figure: three digits are shown, of some two."""


def figures(sentence):
    """Its figures in SI, names left out; percent as shares."""
    found = []
    # of a change, 938 → 956 kN/m, both are of the one unit
    sentence = re.sub(
        r"([\d.]+) → ([\d.]+ )(\S+?)([).,]|$)", r"\1 \3 → \2\3\4", re.sub("‘[^’]*’", "‘’", sentence)
    )
    for number, unit in FIGURE.findall(sentence):
        value = float(number.replace("−", "-"))
        found.append(
            value / 100
            if unit == "%"
            else si(f"{value} {unit.replace('·', '*')}", units_of(unit))
            if unit
            else value
        )
    return found


def units_of(unit):
    """SI's own of a shown unit."""
    return {"kN·m/rad": "N*m/rad", "kN/m": "N/m", "N/m": "N/m", "mm": "m", "mrad": "rad"}.get(
        unit, "N*m" if "m" in unit else "N"
    )


def sentence(start):
    """The one of the answer that begins so."""
    (found,) = (one for one in results(analysis()).answer if one.startswith(start))
    return found


def loads():
    """Joint loads of both joints over all rows, what racking is of them, and in the racking case what it adds to pretension."""
    mirror = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0])
    every = [one.rows.values.joint_load for one in analysis().envelopes]
    racking = [(load - load[:, ::-1] * mirror) / 2 for load in every]
    added = [one.cases[0].joint_load - one.cases[0].pretension_joint_load for one in analysis().study.joints]
    return [[np.abs(one).reshape(-1, 6).max(axis=0) for one in some] for some in (every, racking, added)]


def governing(*, own):
    """Of the lug's joint: lowest margin and factor, of its own parts or of those beside."""
    one = analysis().part_margins[0]
    checks = [c for c in (one.own if own else one.other_checks) if c.kind == "checked"]
    worst = min(checks, key=lambda check: check.margin.min())
    return [worst.margin.min(), worst.factor.value]


def expected():
    """Figures by the sentence's beginning."""
    study, play = analysis().study, analysis().joint_plays[0]
    lug, sprung = study.joints
    (lug_most, sprung_most), racking, (lug_added, sprung_added) = loads()
    opened = np.unravel_index((play.couple - play.opening).argmax(), play.couple.shape)
    pretension = max(np.abs(one.cases[0].pretension_joint_load[:, BENDING]).max() for one in (lug, sprung))
    bare, up, aft = (
        study.bare_racking_stiffness,
        30e3 * math.cos(math.radians(12)),
        30e3 * math.sin(math.radians(12)),
    )
    torque = 0.12 * -aft - 0.05 * up
    missing = len(
        {
            (w.part.removeprefix("port ").removeprefix("starboard "), w.check)
            for w, name in analysis().part_margins[0].worst
            if name is None and w.part in analysis().part_margins[0].joint_part_names
        }
    )
    return {
        "Strength was checked under": [3, 3, len(analysis().envelopes[0].rows.names) - 3],
        "‘lug’: inadequate": [*governing(own=True), missing],
        "Not assessed": [],
        "Parts beside": governing(own=False),
        "In no check": [],
        "Design torque": [
            lug_most[TORQUE], sprung_most[TORQUE], max(one[TORQUE] for one in racking),
            sprung_most[BENDING], lug_most[BENDING], max(one[BENDING] for one in racking),
        ],
        "‘lug’: the pin's play": [
            play.play.in_lugs, play.play.in_eyes, play.play.angle, (play.couple > play.opening).any(axis=1).sum(),
            len(play.names), play.couple[opened], play.opening[opened], play.with_play[opened],
        ],
        "Racking alone": [3e3, lug_added[TORQUE], sprung_added[TORQUE], sprung_added[BENDING], pretension],
        "‘lug’ raises": [lug.racking_stiffness / bare - 1, bare, lug.racking_stiffness],
        "Half-torque": [sprung.curves["pitch"].k_half],
        "In ‘rig’": [up, aft, abs(torque) / 30e3, abs(torque), 0.12 * aft / up],
    }  # fmt: skip


STARTS = (
    "Strength was checked under", "‘lug’: inadequate", "Not assessed", "Parts beside", "In no check", "Design torque",
    "‘lug’: the pin's play", "Racking alone", "‘lug’ raises", "Half-torque", "In ‘rig’",
)  # fmt: skip
"""How the sentences of the answer begin."""


@pytest.mark.parametrize("start", STARTS)
def test_every_figure_of_a_sentence_is_the_analysis_s(start):
    """In the order of the sentence, by value, sign and unit, as far as its digits go."""
    said, right = figures(sentence(start)), [float(one) for one in expected()[start]]
    assert len(said) == len(right)
    for one, other in zip(said, right, strict=True):
        assert one == pytest.approx(other, rel=REL_TOL_SHOWN if abs(other) < 1e6 else 1e-3, abs=shown(other))


def shown(value):
    """Half of the last digit of margins and percentages, which have two decimals or one, and of whole millimetres."""
    return 5.1e-3 if abs(value) > 0.1 else 5.1e-4


def test_every_sentence_is_held():
    """No sentence of the answer is without its figures here."""
    assert len(results(analysis()).answer) == len(STARTS)
    assert set(expected()) == set(STARTS)


def test_the_stay_s_sentence_has_its_directions():
    """M_y below zero lifts the leading side, where the line passes ahead; torque-free is behind, since the pull aft is above."""
    said = sentence("In ‘rig’")
    assert "ahead of the crossbeam" in said
    assert "leading side up" in said
    assert "behind the shear centre" in said
