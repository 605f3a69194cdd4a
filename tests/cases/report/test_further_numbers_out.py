"""Numbers of the tables that the boat of `test_numbers_out` has nothing for, on another boat: waves, variants, platform, a test,
scatter, glue, ways to know the racking, sheets.

As there, `ORACLE` gives every row by the full heading of each column; a table in neither file turns a test red.
"""

import ast
import math
from functools import partial

import numpy as np
import pytest
from scipy.stats import norm

from cases.analyses.study import run_study
from cases.input.boat_file import BoatFile
from models.response.front_end import SIDES
from models.response.platform_frame import platform_response
from tests.cases.analyses.synthetic_test import GAUGES, JOINT, UP_AND_DOWN
from tests.cases.report import test_numbers_out as first
from tests.cases.report.tables_read import Shown, agree, tables_of
from tests.cases.report.wide_boat import analysis, boat, found_by_test
from tests.models.boats import ROOT, validated

COMPONENTS = first.COMPONENTS
UNITS = ("N", "N", "N", "N·m", "N·m", "N·m")
BENDING, TORQUE = first.BENDING, first.TORQUE
WIDTH, STEM, G = 6 - 2 * 0.4, 4.0, 9.80665
"""m between the hulls' inboard sides, and from bulkhead to stem; m/s²."""
STATE = ("heading, 0 along, 90° abeam", "length, of the wave (m)", "height, of the wave (m)")


@pytest.fixture(scope="module")
def tables(tmp_path_factory):
    """Rows of every CSV file by heading, by the table's name."""
    return tables_of(analysis(), tmp_path_factory.mktemp("out"))


def joint_of(of, name):
    """A joint of an analysis with all its cases."""
    (found,) = [one for one in of.study.joints if one.joint.name == name]
    return found


def degrees(angle):
    """Of a heading in a cell: three digits."""
    return f"{math.degrees(angle):.3g}°"


def state_of(state):
    """A regular wave's cells; its height is 1/20 of its length, as the file says."""
    return dict(zip(STATE, (degrees(state.heading), state.length, state.length / 20), strict=True))


def waves():
    """Every component by the largest over all headings; one that no wave makes has no hull and no wave."""
    rows = []
    (scan,) = analysis().wave_scans
    for one in scan.joints:
        most = one.over_heading.max(axis=0)
        for k, component in enumerate(COMPONENTS):
            row = {"joint": one.joint, "component": component, "force (N)": None, "moment (N·m)": None}
            row["force (N)" if k < 3 else "moment (N·m)"] = most[k]
            at = one.components[k]
            if most[k]:
                assert scan.heading[one.over_heading[:, k].argmax()] == pytest.approx(at.state.heading)
            wave = state_of(at.state) if most[k] else dict(zip(STATE, ("–", None, None), strict=True))
            rows.append(row | {"hull": at.side if most[k] else "–"} | wave)
    return rows


def wave_parts():
    """Every part described, with its lowest margin."""
    (scan,) = analysis().wave_scans
    return [
        {"joint": one.joint, "part": each.part, "check": each.check, "margin (share)": each.margin, "factor": each.factor}
        | state_of(each.state)
        for one in scan.joints
        for each in one.parts
    ]  # fmt: skip


def wave_sea():
    """Amplitudes and periods once for each slope of fatigue curves, with the ranges of that slope."""
    (scan,) = analysis().wave_scans
    return [
        {
            "joint": one.joint, "component": each.component, "heading": degrees(each.heading),
            "significant, amplitude": Shown(each.significant, UNITS[COMPONENTS.index(each.component)]),
            "once in 3 h, amplitude": Shown(each.largest, UNITS[COMPONENTS.index(each.component)]),
            "crossing period (s)": each.period, "slope": f"{of.slope:g}",
            **{
                f"{name}, range": Shown(getattr(of, key), UNITS[COMPONENTS.index(each.component)])
                for name, key in (("Rayleigh", "narrow_band"), ("Dirlik", "dirlik"), ("Weibull", "weibull"))
            },
        }
        for one in scan.joints
        for each in one.sea
        for of in each.ranges
    ]  # fmt: skip


def most(of, joint, column, kind):
    """N or N·m, the larger of both hulls over all cases of a kind; of racking without pretension."""
    return max(
        np.abs(case.joint_load - (kind == "racking" and case.pretension_joint_load))[:, column].max()
        for case in joint_of(of, joint).cases
        if case.case.kind == kind
    )


def of_all(of, joint, column):
    """The same over all cases and combinations."""
    (one,) = [one for one in of.case_rows if one.joint.name == joint]
    return np.abs(one.values.joint_load[..., column]).max()


def lowest(of, joint, own):
    """Margin of a joint's own parts, or of those beside it; None where nothing is checked."""
    (one,) = [one for one in of.part_margins if one.joint == joint]
    checks = one.own if own else one.other_checks
    return min((check.margin.min() for check in checks if check.kind == "checked"), default=None)


def tension(of, joint):
    """N, of the martingale's parts the larger, in the rig's one case."""
    (rig,) = [case for case in joint_of(of, joint).cases if case.case.kind == "rig"]
    return max(rig.truss.tension.values(), default=None)


def stay_torque(of, _):
    """N·m, of a stay whose eye is 0.05 m ahead of the axis and 0.12 m above it."""
    (rig,) = [case for case in of.study.cases if case.kind == "rig"]
    along, _, up = rig.pull
    return abs(0.12 * along - 0.05 * up)


MOMENTS = (("torque", TORQUE), ("vertical bending", BENDING))
COMPARED = (
    ("racking stiffness", "N/m", lambda of, joint: joint_of(of, joint).racking_stiffness),
    *((f"{word} that racking adds", "N·m", partial(most, column=k, kind="racking")) for word, k in MOMENTS),
    *((f"{word} under the rig", UNITS[k], partial(most, column=k, kind="rig")) for k, word in enumerate(COMPONENTS)),
    ("martingale tension under the rig", "N", tension),
    *((f"{word} of all cases", "N·m", partial(of_all, column=k)) for word, k in MOMENTS),
    ("lowest margin of the joint's parts", "margin", partial(lowest, own=True)),
    ("lowest margin beside the joint", "margin", partial(lowest, own=False)),
)  # fmt: skip


def variants():
    """Quantity by quantity, joint by joint, over the boats as entered and changed; none where no boat has it."""
    boats = {one.name: one.analysis for one in analysis().compared}
    bare = (
        "racking stiffness of the bows without a crossbeam",
        "N/m",
        lambda of, _: of.study.bare_racking_stiffness,
    )
    asked = [(bare, ""), (("torque of the stay about the beam's axis", "N·m", stay_torque), "")]
    asked += [(quantity, one.joint.name) for quantity in COMPARED for one in analysis().study.joints]
    rows = []
    for (quantity, unit, value), joint in asked:
        values = {f"{name}, SI": value(of, joint) for name, of in boats.items()}
        if any(one is not None for one in values.values()):
            rows.append({"quantity": quantity, "unit": unit, "joint": joint} | values)
    return rows


def member_stiffness(centre):
    """N/m of each of the two like members, at 0 and −4 m: 1/k = b³/12EI + s²|x − x_c|/2GJ of the hulls."""
    b = WIDTH
    return np.array([1 / (b**3 / (12 * 9e6) + 6.0**2 * abs(x - centre) / (2 * 6e6)) for x in (0.0, -4.0)])


def twist_of(k, centre):
    """N·m/rad on each hull: 2 [Σ k (x − x_c)² + Σ GJ/b]."""
    return 2 * ((k * (np.array([0.0, -4.0]) - centre) ** 2).sum() + 2 * 0.2e6 / WIDTH)


def platform():
    """The frame's own, and two closed forms: two like members turn about the middle between them."""
    response, rigid = platform_response(boat()), np.full(2, 12 * 9e6 / WIDTH**3)
    centre, per = "twist centre, ahead of the bulkhead (m)", "moment per twist, on each hull (N·m/rad)"
    return [
        {"by": "frame", centre: response.twist_centre, per: 1 / response.twist_per_moment},
        {"by": "closed form", centre: -2.0, per: twist_of(member_stiffness(-2.0), -2.0)},
        {"by": "closed form, rigid hulls", centre: -2.0, per: twist_of(rigid, -2.0)},
    ]


def platform_members():
    """As the file gives them; each takes k (x − x_c)² and GJ/b of the twisting moment."""
    k, rows = member_stiffness(-2.0), []
    for name, x, height, stiffness in (("fore", 0.0, 0.5, k[0]), ("aft", -4.0, 0.7, k[1])):
        rows.append({
            "member": name, "station (m)": x, "height (m)": height, "clear width (m)": WIDTH,
            "EI, vertical bending (N·m²)": 9e6, "EI, lateral bending (N·m²)": 50e6, "GJ (N·m²)": 0.2e6, "EA (N)": 900e6,
            "GA, vertical shear (N)": None, "end spring, in roll (N·m/rad)": math.inf, "k, by hand (N/m)": stiffness,
            "by shear, of the twisting moment (share)": 2 * stiffness * (x + 2.0) ** 2 / twist_of(k, -2.0),
            "by torsion, of the twisting moment (share)": 2 * 0.2e6 / WIDTH / twist_of(k, -2.0),
        })  # fmt: skip
    return rows


def platform_springs():
    """Of both hulls alike (antisymmetric, as in racking) and apart; members of the file have no others for it."""
    found = platform_response(boat())
    alike, apart = "both hulls alike, antisymmetric (N·m/rad)", "hulls apart, symmetric (N·m/rad)"
    beside = {"hulls apart, by members for it, symmetric; of a platform as built (N·m/rad)": None}
    return [
        {"of each root in": "roll", alike: found.antisymmetric_roll, apart: found.symmetric_roll} | beside,
        {"of each root in": "yaw", alike: found.antisymmetric_yaw, apart: found.symmetric_yaw} | beside,
    ]


def factors_of_test():
    """A factor is quoted where the test took away a fifth of its variance at least."""
    rows = []
    for one in found_by_test().factors:
        learned = 1 - (one.after / one.before) ** 2
        rows.append({
            "stiffness": one.name.replace("_", " "),
            "factor, on that of the file (times)": one.factor if learned >= 0.2 else None,
            "scatter before (share)": one.before, "scatter after (share)": one.after, "learned (share)": max(learned, 0.0),
        })  # fmt: skip
    return rows


def gauges_of_test():
    """Each read at every step; scatters as stated, with their units."""
    units = {"height": "m", "inclination": "rad", "turn": "rad"}
    return [
        {
            "test": "on the hard", "gauge": one["name"], "unit": units[one["kind"]], "readings (times)": len(UP_AND_DOWN),
            "misses by (times)": record.miss, "scatter stated (times)": one["scatter"], "hysteresis (times)": record.hysteresis,
        }
        for one, record in zip(GAUGES, found_by_test().gauges, strict=True)
    ]  # fmt: skip


def values_of_test():
    """Before: of the platform's frame and of the file's joint."""
    response = platform_response(boat())
    before = {
        "rad/(N·m)": response.twist_per_moment,
        "m": response.twist_centre,
    }
    springs = iter((300e3, 400e3))  # pitch and roll of the joint
    return [
        {
            "what": one.name, "unit": one.unit,
            "before (times)": before[one.unit] if one.unit in before else next(springs), "after (times)": one.after,
            "scatter before (times)": one.before_scatter, "scatter after (times)": one.after_scatter,
        }
        for one in found_by_test().values
    ]  # fmt: skip


def loads_after_test():
    """Before: of the study. After: of a study whose file has the factors that were quoted, its joint's springs by theirs."""
    quoted = found_by_test().quoted
    joint = JOINT | {
        direction: f"{float(JOINT[direction].split()[0]) * quoted.get(f'joint_{direction}', 1.0)!r} kN*m/rad"
        for direction in ("pitch", "roll")
    }
    of_boat = {key: value for key, value in quoted.items() if not key.startswith("joint_")}
    raw = boat().raw | {"joints": [joint], "calibration": of_boat}
    raw = {key: value for key, value in raw.items() if key not in {"variants", "service", "scatter"}}
    after = run_study(validated(BoatFile, raw)).joints[0]
    rows = []
    for one, other in zip(joint_of(analysis(), "plates").cases, after.cases, strict=True):
        row = {"case": one.case.name}
        for word, column in (("torque", TORQUE), ("vertical bending", BENDING)):
            row |= {
                f"{word}, {when} (N·m)": np.abs(case.joint_load[:, column]).max()
                for when, case in (("before", one), ("after", other))
            }
        rows.append(row)
    return rows


def glue_fatigue():
    """Miles over damage, its band's ends the lesser first."""
    return [
        {
            "joint": joint.joint, "part": life.part, "glue line": life.check, "hull": life.side, "source": life.source,
            "factor, on stresses": 1.35, "strength, Pa": {"shear": 15e6, "peel": 10e6}[life.check.replace(",", "").split()[2]],
            "largest range, Pa": life.largest, "steady, Pa": life.mean, "allowed range, Pa": life.allowed,
            "damage, over the distance": life.damage, "life, nautical miles": 20000 / life.damage,
            "least life, nautical miles": min(life.band), "longest life, nautical miles": max(life.band),
        }
        for joint in analysis().fatigue_lives.joints
        for life in joint.glue
    ]  # fmt: skip


def reliability():
    """The joint's own parts together, those beside it, then part by part; an index is that of the chance beside it."""
    rows = []
    for one in analysis().uncertainty.joints:
        for part in (*(whole for whole in (one.own, one.beside) if whole), *one.parts):
            known = part.chance is not None
            index = norm.isf(part.chance) if known else None
            causes = sorted(part.importance.items(), key=lambda item: -item[1])[:3]
            assert part.counted.low <= part.counted.value <= part.counted.high
            rows.append({
                "joint": one.joint, "part": part.part, "check, the likeliest at fault": part.check,
                "margin, without scatter (share)": part.margin, "index, β, first order (times)": index,
                "P(margin < 0), first order (share)": part.chance, "P(margin < 0), counted (share)": part.counted.value,
                "at least, 95 % (share)": part.counted.low, "at most, 95 % (share)": part.counted.high,
                "P(load > capacity), counted, no factor (share)": part.failure.value,
                "made of, causes, shares of β²": ", ".join(
                    f"{name.replace('_', ' ')} {100 * share:.0f} %" for name, share in causes
                ),
            })  # fmt: skip
    return rows


def uncertainty():
    """Of every input its swing of three results."""
    parts = {
        "elasticity, % per % (times)": "elasticity", "low, input one deviation below ({})": "low",
        "high, input one deviation above ({})": "high", "share, of the variance (share)": "share",
    }  # fmt: skip
    return [
        {"joint": one.joint, "input": effect.input, "below": effect.below, "above": effect.above}
        | {
            f"{name} {heading.format(unit)}": getattr(getattr(effect, name), key)
            for name, unit in (("torque", "N·m"), ("bending", "N·m"), ("margin", "share"))
            for heading, key in parts.items()
        }
        | {"remaining, of the margin’s deviation, if known (share)": math.sqrt(1 - effect.margin.share)}
        for one in analysis().uncertainty.joints
        for effect in one.effects
    ]


def racking_ways():
    """Opposite forces at the stems have the lever 4 m − x_c; the platform alone turns by twist per moment."""
    response = platform_response(boat())
    lever = STEM - response.twist_centre
    by_hand = {
        "racking": 3e3 * lever,
        "rule bv-hsc, pitch connecting": 6e3 * G * 10.4 / 8,  # Δ a L/8 at 1 g
        "rule abs-hsc, pitch connecting": 2.5e3 * 6 * 10.4,  # 2.5 Δ L, kN·m and t
    }
    return [
        {
            "way": way.name, "what is applied": way.words, "size": way.basis, "run": "yes" if way.run else "no",
            "racking moment, M_P, on each hull (N·m)": by_hand.get(way.name, way.moment),
            "pair at the stems, of that moment (N)": way.moment / lever,
            "twist, φ, platform alone (rad)": way.moment * response.twist_per_moment, "source and its status": way.source,
        }
        for way in analysis().racking_ways.ways
    ]  # fmt: skip


def racking_ways_at_joints():
    """Of ways that are run as cases torque and bending are the study's, without pretension."""
    rows = []
    for way in analysis().racking_ways.ways:
        for one in way.joints:
            torque, bending = one.torque, one.bending
            if way.run:
                case = next(
                    case for case in joint_of(analysis(), one.joint).cases if case.case.name == way.name
                )
                rest = 0.0 if case.pretension_joint_load is None else case.pretension_joint_load
                added = np.abs(case.joint_load - rest).max(axis=0)
                torque, bending = (
                    0.0 if size < 1e-9 * added.max() else size for size in (added[TORQUE], added[BENDING])
                )
            rows.append({
                "way": way.name, "joint": one.joint, "racking moment, M_P, on each hull (N·m)": way.moment,
                "twist, φ, with this joint (rad)": one.twist,
                "torque, attracted (N·m)": torque, "vertical bending, attracted (N·m)": bending,
            })  # fmt: skip
    return rows


def tension_estimates():
    """Standard: 12 RM/(I + FS) breaks the stay, a 2.5th is met; RM = Δ g times half of 6 m; and the one taken is the larger."""
    standard = 12 * 6e3 * G * 3.0 / 14 / 2.5
    rig = next(case for case in analysis().study.cases if case.kind == "rig")
    statics = min(one.tension for one in rig.tension_range.estimates)
    head = ("case", "by", "tension (N)", "of the one taken (share)")
    return [
        dict(zip(head, ("rig", *row), strict=True))
        for row in (
            ("nordic standard", standard, 1.0),
            ("mast statics", statics, statics / standard),
            ("taken: largest", standard, 1.0),
        )
    ]


ORACLE = {
    "waves-waves": waves,
    "wave-parts-waves": wave_parts,
    "wave-sea-waves": wave_sea,
    "variants": variants,
    "platform": platform,
    "platform_members": platform_members,
    "platform_springs": platform_springs,
    "test_factors": factors_of_test,
    "test_gauges": gauges_of_test,
    "test_values": values_of_test,
    "test_joint_loads": loads_after_test,
    "glue_fatigue": glue_fatigue,
    "reliability": reliability,
    "uncertainty": uncertainty,
    "racking_ways": racking_ways,
    "racking_ways_at_joints": racking_ways_at_joints,
    "tension_estimates": tension_estimates,
}
ELSEWHERE = {
    "estimated_inputs": "words; tests/cases/input/test_boat_defaults.py",
}
SHOWN_ONLY = {"chances", "design_moments", "worst_in_rig", "stations", "beams", "stay_lines", "sizing"}
"""Tables of the page that are no CSV file."""


def held(name):
    """Whether one of the two oracles, a law or a test named holds a table."""
    return name in set(ORACLE) | set(ELSEWHERE) | set(first.ORACLE) | first.BY_LAW | set(first.ELSEWHERE)


def test_every_table_is_held(tables):
    """A table of the report has an oracle, a law or a test that is named."""
    assert [name for name in tables if not held(name)] == []
    assert set(ORACLE) <= set(tables)


def test_every_table_that_the_program_can_write_is_held():
    """By its text: each `Table` of the report's code is written by one of the two boats, or is of the page alone."""
    names = set()
    for path in (ROOT / "cases/report").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Table":
                name = node.args[0]
                if isinstance(name, ast.JoinedStr):  # of one case
                    names.add(f"{name.values[0].value}waves")
                elif isinstance(name, ast.Constant):
                    names.add(name.value)
    assert len(names) > 40
    assert {name for name in names if not held(name)} == SHOWN_ONLY


@pytest.mark.parametrize("name", ORACLE)
def test_every_column_is_what_it_says(tables, name):
    """Row by row and column by column, in the order of the file: value, sign and unit of the heading."""
    expected = ORACLE[name]()
    agree(tables[name], expected, {"source"} - set(expected[0]))


def test_the_tests_factors_are_near_those_of_the_boat_that_was_read():
    """Its hulls had 0.8 of the file's GJ and its joint 0.6 of the pitch stiffness: within three of the scatters beside them."""
    for name, true in (("hull GJ", 0.8), ("joint pitch", 0.6)):
        (row,) = [one for one in factors_of_test() if one["stiffness"] == name]
        assert (
            abs(math.log(row["factor, on that of the file (times)"] / true))
            < 3 * row["scatter after (share)"]
        )


def test_waves_margins_are_the_lowest_of_waves_alone(tables):
    """No wave that is run as a case, on pretension, leaves a part less than the worst wave of that part."""
    margins = {
        (row["joint"], row["part"]): float(row["margin (share)"]) for row in tables["wave-parts-waves"]
    }
    run = [row for row in tables["margins_by_case"] if row["case"].startswith("waves, ") and row["margin"]]
    assert run
    for row in run:
        key = row["joint"], row["part"].removeprefix("port ").removeprefix("starboard ")
        if key in margins:
            assert float(row["margin"]) >= margins[key] - 1e-6


def test_design_actions_are_the_largest_of_their_component(tables):
    """Where a row says why, that component is the largest over all rows and hulls, and every component has such a row."""
    load = next(one for one in analysis().case_rows if one.joint.name == "glued").values.joint_load
    rows = tables["design_actions"]
    for k, component in enumerate(COMPONENTS):
        named = [row for row in rows if f"largest {component}" in row["why"].split("; ")]
        assert len(named) == 1
        assert abs(float(named[0][first.LOADS[k]])) == pytest.approx(np.abs(load[..., k]).max(), rel=1e-12)
    assert {row["hull"] for row in rows} == set(SIDES)
