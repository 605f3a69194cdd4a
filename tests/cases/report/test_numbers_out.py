"""Every number of the tables in CSV files against the analysis: by sign, unit and value, by an expression of its own.

`ORACLE` gives for every table what its rows must be, by the full heading of each column with its unit. Tables of words, and those
whose numbers have tests of their own, are named in `ELSEWHERE`; a table or a column in neither turns a test red.
"""

import math

import numpy as np
import pytest

from femcore.solvers.beam_fields import axial_forces
from models.response.front_end import SIDES
from tests.cases.report.numbers_boat import analysis
from tests.cases.report.tables_read import Shown, agree, tables_of

FURTHER = "tests/cases/report/test_further_numbers_out.py"
ELSEWHERE = {
    "combinations": "words; factors in tests/cases/input/test_combinations.py",
    "fitting_remarks": "words",
    "load_origins": "words; tests/cases/loads/test_load_origins.py",
    "not_checked": "words",
    **dict.fromkeys(("racking_ways", "racking_ways_at_joints", "reliability", "uncertainty"), FURTHER),
    "scatter": "words; tests/cases/input/test_scatter.py",
    "strengths_from_memory": "words",
}
LOADS = (
    "Fx, fore-and-aft shear (N)", "Fy, axial force (N)", "Fz, vertical shear (N)", "Mx, vertical bending (N·m)",
    "My, torque (N·m)", "Mz, fore-and-aft bending (N·m)",
)  # fmt: skip
FORCE_AND_MOMENT = ("Fx (N)", "Fy (N)", "Fz (N)", "Mx (N·m)", "My (N·m)", "Mz (N·m)")
ACTIONS = ("N (N)", "Vy (N)", "Vz (N)", "T (N·m)", "My (N·m)", "Mz (N·m)")
MOVES = (
    "ux, surge (m)",
    "uy, sway (m)",
    "uz, heave (m)",
    "rx, roll (rad)",
    "ry, pitch (rad)",
    "rz, yaw (rad)",
)
TORQUE, BENDING = 4, 3
REL_TOL_EQUAL = 1e-9
"""Of the largest value of a column over all rows: values nearer to one another differ by rounding."""
COMPONENTS = (
    "fore-and-aft shear", "axial force", "vertical shear", "vertical bending", "torque", "fore-and-aft bending",
)  # fmt: skip
BAND = tuple(f"life at {scale} times the racking range, nautical miles" for scale in (1.6, 0.6))


@pytest.fixture(scope="module")
def tables(tmp_path_factory):
    """Rows of every CSV file by heading, by the table's name."""
    return tables_of(analysis(), tmp_path_factory.mktemp("out"))


def results():
    """Every case of every joint, cases first."""
    study = analysis().study
    for at, case in enumerate(study.cases):
        for joint in study.joints:
            yield {"case": case.name, "joint": joint.joint.name}, joint, joint.cases[at], at


def by_hull(key, names, word="hull"):
    """Rows of an array (2, 6) of every result."""
    return [
        head | {word: side} | dict(zip(names, getattr(found, key)[k].tolist(), strict=True))
        for head, _, found, _ in results()
        for k, side in enumerate(SIDES)
    ]


def crossbeam_actions():
    """Along the crossbeam, from starboard to port: 5.2 m between the hulls' inboard sides."""
    place = "distance from starboard end (m)"
    return [
        head | {place: x} | dict(zip(ACTIONS, action.tolist(), strict=True))
        for head, joint, _, at in results()
        for x, action in zip(
            joint.crossbeam.point[:, 1] + 2.6, analysis_rows(joint).crossbeam[at], strict=True
        )
    ]


def analysis_rows(joint):
    """Responses of a joint's cases and combinations."""
    names = [one.joint.name for one in analysis().study.joints]
    return analysis().case_rows[names.index(joint.joint.name)].values


def added(found):
    """(2, 6), what a case adds to pretension."""
    return found.joint_load - found.pretension_joint_load


def comparison():
    """Of racking cases alone; what pretension does is subtracted."""
    study, rows = analysis().study, []
    for joint in study.joints:
        found, curve = joint.cases[0], joint.curves["pitch"]
        load = np.abs(added(found)).max(axis=0)
        rows.append({
            "joint": joint.joint.name, "case": "racking",
            "torque, that is added (N·m)": load[TORQUE], "vertical bending, that is added (N·m)": load[BENDING],
            "torque, of a rigid joint’s (share)": found.attraction["torque"],
            "bending, of a rigid joint’s (share)": found.attraction["bending"],
            "racking stiffness (N/m)": joint.racking_stiffness,
            "stiffness, of bows alone (times)": joint.racking_stiffness / study.bare_racking_stiffness,
            "half-torque stiffness (N·m/rad)": curve.k_half,
            "own stiffness, in pitch (N·m/rad)": joint.joint.stiffness().own_stiffness("pitch"),
        })  # fmt: skip
    return rows


def racking_shares():
    """Of the cases that rack."""
    return [
        head | {
            "racking moment (N·m)": found.shares.racking_moment, "hull share (share)": found.shares.hull,
            "torque share (share)": found.shares.torque, "shear share (share)": found.shares.shear, "sum (share)": 1.0,
            "torque, of a rigid joint’s (share)": found.attraction["torque"],
            "bending, of a rigid joint’s (share)": found.attraction["bending"],
        }
        for head, _, found, _ in results()
        if found.shares is not None
    ]  # fmt: skip


def truss():
    """Tensions above zero, compressions as sizes, by the arrays of all responses."""
    rows = []
    for head, joint, found, at in results():
        values = analysis_rows(joint)
        crossbeam = joint.solution.frame.members["crossbeam"]
        rows.append(head | {
            "martingale, largest tension (N)": values.tension[at].max(),
            "crossbeam, largest compression (N)": max(0.0, -axial(joint, at)[crossbeam.elements].min()),
            "striker, compression at its foot (N)": max(0.0, -values.striker[at, 0]),
            "buckles at, its load (times)": found.buckling.factor, "buckles in": found.buckling.part,
        })  # fmt: skip
    return rows


def axial(joint, at):
    """(m, 2), N, tension positive, at both ends of each element, from the forces on its ends."""
    return axial_forces(joint.solution, at)


def deformed():
    """Of the case in second order."""
    return [
        head | {
            "joint force, more (share)": found.change.force, "joint moment, more (share)": found.change.moment,
            "martingale, more tension (share)": found.change.tension, "stems, more movement (share)": found.change.movement,
        }
        for head, _, found, _ in results()
        if found.change is not None
    ]  # fmt: skip


def motions():
    """The lowest mode of each kind."""
    return [
        {"joint": joint.joint.name}
        | {
            f"{kind}, lowest (Hz)": min(mode.frequency for mode in joint.natural_modes if mode.kind == kind)
            for kind in ("racking", "twisting")
        }
        for joint in analysis().study.joints
    ]


def envelope(reading, kind, units):
    """Highest and lowest over all rows, and the first row in which they are."""
    rows = []
    names = MOVES if reading == "stems" else COMPONENTS
    for one in analysis().envelopes:
        values = getattr(one.rows.values, reading)
        for k, side in enumerate(SIDES):
            for column in kind:
                over = values[:, k, column]
                called = names[column].split(", ")[1].split(" (")[0] if reading == "stems" else names[column]
                rows.append(
                    {"joint": one.name, "hull": side, "component": called}
                    | extremes(over, one.rows.names, units)
                )
    return rows


def equal_to(value, over, names):
    """Names of the rows that have a value, but for rounding."""
    near = np.abs(over - value) <= REL_TOL_EQUAL * np.abs(over).max()
    return frozenset(name for name, one in zip(names, near, strict=True) if one)


def extremes(over, names, unit):
    """Columns of the highest and the lowest of some values (rows,)."""
    return {
        f"highest ({unit})": over.max(), "in": equal_to(over.max(), over, names),
        f"lowest ({unit})": over.min(), "in ": equal_to(over.min(), over, names),
    }  # fmt: skip


def envelope_along():
    """Highest and lowest action anywhere along the crossbeam."""
    rows = []
    for one, joint in zip(analysis().envelopes, analysis().study.joints, strict=True):
        values, station = one.rows.values.crossbeam, joint.crossbeam.station
        for column, heading in enumerate(ACTIONS):
            action, unit = heading.removesuffix(")").split(" (")
            high, low = values[..., column].max(axis=0), values[..., column].min(axis=0)
            most, least = int(high.argmax()), int(low.argmin())
            rows.append({
                "joint": one.name, "beam": "crossbeam", "action": action, "unit": unit, "highest, SI": high[most],
                "at (m)": station[most], "in": equal_to(high[most], values[:, most, column], one.rows.names),
                "lowest, SI": low[least],
                "at  (m)": station[least], "in ": equal_to(low[least], values[:, least, column], one.rows.names),
            })  # fmt: skip
    return rows


def envelope_truss():
    """Each part of the martingale, and the striker where it is most compressed."""
    rows = []
    for one in analysis().envelopes:
        values = one.rows.values
        for k, part in enumerate(("port martingale", "starboard martingale")):
            rows.append(
                {"joint": one.name, "part": part} | extremes(values.tension[:, k], one.rows.names, "N")
            )
        place = values.striker.min(axis=0).argmin()
        rows.append(
            {"joint": one.name, "part": "striker"} | extremes(values.striker[:, place], one.rows.names, "N")
        )
    return rows


def design_loads():
    """The largest size of each component over rows and hulls, and what racking is of it: half of port less mirrored starboard."""
    mirror, rows = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0]), []
    for one in analysis().envelopes:
        load = one.rows.values.joint_load
        racking = (load - load[:, ::-1] * mirror) / 2
        for column, component in enumerate(COMPONENTS):
            size, part = np.abs(load[..., column]), np.abs(racking[..., column])
            alike = size >= size.max() * (1 - REL_TOL_EQUAL)
            row, side = np.unravel_index(alike.argmax(), size.shape)
            rows.append({
                "joint": one.name, "component": component, "design load, SI": size.max(),
                "due to racking, SI": racking[row, side, column] * np.sign(load[row, side, column]),
                "unit": "N" if column < 3 else "N·m", "hull": SIDES[side],
                "in": one.rows.names[row], "largest part due to racking, SI": part.max(),
                "in ": one.rows.names[(part.max(axis=1) >= part.max() * (1 - REL_TOL_EQUAL)).argmax()],
            })  # fmt: skip
    return rows


def fatigue():
    """Lives of details; a margin of the band at 1.6 times the range is the shorter life."""
    return [
        {
            "joint": joint.joint, "detail": life.detail.name, "component": life.detail.component, "hull": life.side,
            "factor, on ranges": life.factor, "largest range, Pa or strain": life.detail.per * life.load_range,
            "steady, Pa or strain": life.detail.per * joint.mean[SIDES.index(life.side), TORQUE],
            "allowed range, Pa or strain": life.allowed, "damage, over the distance": life.damage,
            "life, nautical miles": analysis().lives_with_bands.miles / life.damage,
            BAND[0]: joint.bands[k].shortest, BAND[1]: joint.bands[k].longest,
        }
        for joint in analysis().lives_with_bands.joints
        for k, life in enumerate(joint.lives)
    ]  # fmt: skip


def fatigue_welds():
    """Lives of welds, by the joint's own stresses under the cycle."""
    return [
        {
            "joint": joint.joint, "weld": life.part, "hull": life.side, "range at the toe, in the plate (Pa)": life.toe_range,
            "range at the root, across the throat (Pa)": life.root_range,
            "range in shear, along the throat (Pa)": life.shear_range,
            "damage at the toe, over the distance": life.toe_damage,
            "damage at the root, over the distance": life.root_damage,
            "governing": "root" if life.root_damage >= life.toe_damage else "toe", "factor, on ranges": life.factor,
            "life, nautical miles": analysis().lives_with_bands.miles / max(life.toe_damage, life.root_damage),
            BAND[0]: joint.bands[len(joint.lives) + k].shortest, BAND[1]: joint.bands[len(joint.lives) + k].longest,
        }
        for joint in analysis().lives_with_bands.joints
        for k, life in enumerate(joint.welds)
    ]  # fmt: skip


def formulas_from_memory():
    """By source, of the checks in all joints' worst rows; the source whose lowest margin is lowest comes first."""
    made = {}
    for one in analysis().part_margins:
        for check, case in one.worst:
            if case is not None and "from memory" in check.source:
                made.setdefault(check.source, []).append((check.margin, check, one.joint, case))
    rows = []
    for source, found in sorted(made.items(), key=lambda item: min(row[0] for row in item[1])):
        margin, check, joint, case = min(found, key=lambda row: row[0])
        shown = "over 1000" if margin > 1000 else Shown(margin, "")
        rows.append({
            "source": source, "checks": len(found), "lowest margin": "no load" if math.isinf(margin) else shown,
            "part": check.part.removeprefix("port ").removeprefix("starboard "), "check": check.check, "with": joint,
            "case": case,
        })  # fmt: skip
    return rows


ORACLE = {
    "joint_loads": lambda: by_hull("joint_load", LOADS),
    "movements": lambda: by_hull("stems", MOVES, "stem"),
    "crossbeam_actions": crossbeam_actions,
    "comparison": comparison,
    "racking_shares": racking_shares,
    "truss": truss,
    "deformed": deformed,
    "motions": motions,
    "envelope_forces": lambda: envelope("joint_load", (0, 1, 2), "N"),
    "envelope_moments": lambda: envelope("joint_load", (3, 4, 5), "N·m"),
    "envelope_movements": lambda: envelope("stems", (0, 1, 2), "m"),
    "envelope_turns": lambda: envelope("stems", (3, 4, 5), "rad"),
    "envelope_along": envelope_along,
    "envelope_truss": envelope_truss,
    "design_loads": design_loads,
    "fatigue": fatigue,
    "fatigue_welds": fatigue_welds,
    "formulas_from_memory": formulas_from_memory,
}
WORDS = {"curve", "source", "verdict"}
"""Columns of words in tables of the oracle."""
BY_LAW = {
    "margins", "margins_by_case", "load_path", "front_end_path", "design_actions", "stay_over_rake", "stay_over_sag", "play",
}  # fmt: skip
"""Tables whose numbers are held by a test of their own below."""


def test_every_table_is_held(tables):
    """A table of the report is in the oracle, has a law below, or is named with the test that holds it: never in none."""
    assert set(tables) == set(ORACLE) | BY_LAW | set(ELSEWHERE)


@pytest.mark.parametrize("name", ORACLE)
def test_every_column_is_what_it_says(tables, name):
    """Row by row and column by column, in the order of the file: value, sign and unit of the heading."""
    expected = ORACLE[name]()
    agree(tables[name], expected, WORDS - set(expected[0]))


def test_actions_at_the_crossbeam_s_ends_are_the_joint_loads(tables):
    """Beam axes: x to port, y aft, z up. On its starboard face the beam puts the joint load on the hull, at port the hull the
    reverse on the beam: N = Fy, Vy = −Fx, Vz = Fz, T = My, My = −Mx, Mz = Mz at starboard, all reversed at port (first order).
    """
    turned = np.array([[0, 1, 0], [-1, 0, 0], [0, 0, 1.0]])
    turned = np.block([[turned, np.zeros((3, 3))], [np.zeros((3, 3)), turned]])
    for case in ("racking", "rig"):
        for joint in ("lug", "sprung"):
            along = [r for r in tables["crossbeam_actions"] if (r["case"], r["joint"]) == (case, joint)]
            start, end = ([float(row[k]) for k in ACTIONS] for row in (along[0], along[-1]))
            port, starboard = (
                turned @ [float(row[k]) for k in LOADS]
                for row in tables["joint_loads"]
                if (row["case"], row["joint"]) == (case, joint)
            )
            size = np.abs(starboard).max()
            assert start == pytest.approx(starboard, abs=1e-9 * size)
            assert end == pytest.approx(-port, abs=1e-9 * size)


def test_racking_lifts_the_port_bow(tables):
    """3 kN up at the port stem, 4 m ahead: −12 kN·m about y, bow down positive, half of port less starboard; that stem rises."""
    rows = [row for row in tables["racking_shares"] if row["case"] == "racking"]
    assert [float(row["racking moment (N·m)"]) for row in rows] == pytest.approx([-12e3, -12e3], rel=1e-9)
    for row in tables["movements"]:
        if row["case"] == "racking":
            assert (float(row["uz, heave (m)"]) > 0) == (row["stem"] == "port")
            assert (float(row["ry, pitch (rad)"]) < 0) == (row["stem"] == "port")


@pytest.mark.parametrize("name", ["load_path", "front_end_path"])
def test_load_paths_are_in_equilibrium_with_their_parts(tables, name):
    """Rows above each sum add up to it, which is zero; those of pretension alone too; joints are the joint loads reversed."""
    groups = {}
    for row in tables[name]:
        groups.setdefault((row["case"], row["joint"]), []).append(row)
    assert len(groups) == 6
    word = "acts on the crossbeam" if name == "load_path" else "acts on the front end"
    for (case, joint), rows in groups.items():
        values = {row[word]: np.array([float(row[k]) for k in FORCE_AND_MOMENT]) for row in rows}
        still = [v for k, v in values.items() if k.endswith(", pretension alone")]
        acting = [v for k, v in values.items() if k != "sum" and not k.endswith(", pretension alone")]
        size = max(np.abs(v).max() for v in values.values())
        assert len(still) == 2
        for some in (acting, still):
            assert sum(some) == pytest.approx(np.zeros(6), abs=1e-8 * size)
        assert values["sum"] == pytest.approx(np.zeros(6), abs=1e-8 * size)
        loads = {
            row["hull"]: np.array([float(row[k]) for k in LOADS])
            for row in tables["joint_loads"]
            if (row["case"], row["joint"]) == (case, joint)
        }
        for side in SIDES if name == "load_path" else ():
            assert values[f"{side} joint"][:3] == pytest.approx(-loads[side][:3], abs=1e-9 * size)
    if name == "front_end_path":
        first = {row[word]: row for row in groups["racking", "lug"]}
        # 3 kN up at the port stem: 3 m to port and 0.4 m ahead of the beam's centre
        found = [float(first["port stem"][k]) for k in FORCE_AND_MOMENT]
        assert found == pytest.approx([0, 0, 3e3, 9e3, -1.2e3, 0], abs=1e-6)


def test_every_margin_is_its_capacity_over_factor_and_load(tables):
    """margin = allowable/(factor × load) − 1 in every row, and none of a check's cases has less than the row of its worst."""
    for row in (*tables["margins"], *tables["margins_by_case"]):
        if row["margin"]:
            margin, load, allowable, factor = (
                float(row[k]) for k in ("margin", "load, SI", "allowable, SI", "safety factor")
            )
            assert load >= 0
            assert allowable > 0
            assert math.isinf(margin) or margin == pytest.approx(allowable / (factor * load) - 1, rel=1e-9)
    worst = {
        (r["joint"], r["part"], r["check"]): float(r["margin"]) for r in tables["margins"] if r["margin"]
    }
    for one in analysis().part_margins:
        for check in (*one.own, *one.other_checks):
            if check.kind == "checked":
                key = (one.joint, check.part, check.check)
                assert worst[key] <= check.margin.min() + 1e-9
    for row in tables["margins_by_case"]:
        if row["margin"]:
            assert float(row["margin"]) >= worst[row["joint"], row["part"], row["check"]] - 1e-9


def test_design_actions_are_joint_loads_of_their_row(tables):
    """Every row's six values are those of that joint, case or combination and hull."""
    for row in tables["design_actions"]:
        one = next(one for one in analysis().envelopes if one.name == row["joint"])
        load = one.rows.values.joint_load[
            one.rows.names.index(row["case or combination"]), SIDES.index(row["hull"])
        ]
        assert [float(row[k]) for k in LOADS] == pytest.approx(load.tolist(), rel=1e-12)


@pytest.mark.parametrize("name", ["stay_over_rake", "stay_over_sag"])
def test_a_stay_s_torque_is_its_pull_times_its_levers(tables, name):
    """Its eye is 0.05 m ahead of the axis and 0.12 m above: M_y = z Fx − x Fz, zero where x = z Fx/Fz; Fx = −pull aft."""
    assert tables[name]
    for row in tables[name]:
        up, aft = float(row["pull up (N)"]), float(row["pull aft (N)"])
        torque = float(row["torque, positive: bow down (N·m)"])
        assert torque == pytest.approx(0.12 * -aft - 0.05 * up, rel=1e-9)
        assert float(row["torque-free attachment, ahead of the axis (m)"]) == pytest.approx(
            -0.12 * aft / up, abs=1e-12
        )
        rake = math.radians(float(row["rake at the foot (°)"]))
        lean = math.tan(math.radians(float(row.get("lean at the foot, to port (°)") or 0.0)))
        assert aft == pytest.approx(up * math.tan(rake), rel=1e-6, abs=1e-6)
        assert float(row["pull to port (N)"]) == pytest.approx(math.hypot(up, aft) * lean, rel=1e-6, abs=1e-6)


def test_play_opens_below_the_moment_that_closes_it(tables):
    """A pin's play is open where the torque is below that which closes it; then the joint carries at most that much."""
    assert tables["play"]
    for row in tables["play"]:
        torque, closing = float(row["torque (N·m)"]), float(row["closed below (N·m)"])
        assert float(row["free angle (rad)"]) > 0
        assert row["state"] in {"open", "closed"}
        assert (row["state"] == "open") == (abs(torque) > closing)
