"""What `benchmark.py` runs inside the environment: the measurements, one line of a table each.

Every line is a ratio of two times of one run: the median of rounds in which both take turns, so that a busy
spell of the machine hits both. Targets are of the project, for a machine that does nothing else.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from importlib import import_module
from itertools import islice
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import Any

import environment
import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementLineHermite, ElementLineP1, MeshLine  # type: ignore[import-untyped]
from skfem.helpers import dd, ddot, dot, grad  # type: ignore[import-untyped]

from cases.analyses.analysis import Analysis
from cases.analyses.case_rows import case_rows
from cases.analyses.envelope import envelope
from cases.analyses.solved_cases import READINGS
from cases.analyses.study import run_study
from cases.analyses.sweeps.chunk import chunk_table
from cases.analyses.sweeps.dataset import SweepFolder
from cases.analyses.sweeps.plan import PreparedSweep, plan_sweep
from cases.analyses.sweeps.run import run_sweep
from cases.analyses.sweeps.runners import on_cores
from cases.analyses.uncertainty.uncertainty import SAMPLES as CHANCE_SAMPLES
from cases.analyses.uncertainty.uncertainty import sampled, uncertainty
from cases.input.boat_file import read_boat_file
from cases.input.combinations import ExpandedCombination
from cases.input.grid_file import GridFile, VariedKey
from cases.loads import case_loads
from cases.page.answer import answer
from cases.page.state import BoatText
from cases.report.figures.drawing_process import Drawings
from cases.report.figures.report_figures import picture_jobs
from femcore.base.arrays import BoolArray, FloatArray, IntArray
from femcore.base.process import OtherProcess
from femcore.frame.frame import Frame, Loads, build_cables
from femcore.solvers.assembly import parts_of, stiffness
from femcore.solvers.blocks import factorise_symmetric
from femcore.solvers.buckling import buckling
from femcore.solvers.frame_changes import Changes
from femcore.solvers.solution import solve
from models.checks.linear_parts import FORCES, linear_margins, linear_parts
from models.response.front_end import build
from models.response.front_end_variants import FrontEndVariants
from models.response.joint_designs import JointDesigns
from models.response.joint_loads import striker_axial

LAYERS = {1_000: 8, 10_000: 68, 30_000: 201, 100_000: 668, 150_000: 1_000, 1_000_000: 6_668}
"""Layers of a lattice of 5 × 5 nodes that has about so many freedoms."""
JUDGED = 150_000
BUCKLED = 30_000
CHAIN = 65_000
ROUNDS = 7
COMBINATIONS, JOINTS = 200, 5
DESIGNS, SAMPLES = 100_000, 10_000
SWEPT, SWEEP_ROUNDS = 48, 3
MEASURED_PICTURES = 16
DEMO = environment.ROOT / "cases" / "boats" / "demo.toml"


@dataclass(frozen=True)
class Line:
    """Seconds of what is measured and of what it is held against, and the ratio aimed at, if any."""

    what: str
    over: str
    ours: float
    theirs: float
    target: float | None = None


def main() -> None:
    """Measure, and print each line as it is there."""
    print(f"{'measured':<48}{'over':<46}{'s':>8}{'s':>9}{'ratio':>8}{'target':>8}")
    for line in demo_lines() if "--demo" in sys.argv[1:] else lines(large="--large" in sys.argv[1:]):
        target = "-" if line.target is None else f"{line.target:.2f}"
        times = f"{line.ours:>8.3f}{line.theirs:>9.3f}{line.ours / line.theirs:>8.2f}{target:>8}"
        print(f"{line.what:<48}{line.over:<46}{times}", flush=True)


def lines(*, large: bool) -> Iterator[Line]:
    """All lines, measured one after the other."""
    for freedoms in LAYERS:
        if freedoms == BUCKLED:
            continue
        if freedoms <= JUDGED:
            yield from frame_lines(freedoms, ROUNDS)
        elif large:
            yield from frame_lines(freedoms, 1)
    yield slack_line()
    yield buckling_line()
    yield library_line()
    yield combinations_line()
    yield from variant_lines()
    yield uncertainty_line()
    yield picture_line()
    yield from sweep_lines()
    yield from demo_lines()


def timed(rounds: int, *actions: Callable[[], object]) -> list[float]:
    """Median seconds of each action over rounds in which they take turns."""
    seconds: list[list[float]] = [[] for _ in actions]
    for _ in range(rounds):
        for taken, action in zip(seconds, actions, strict=True):
            began = time.perf_counter()
            action()
            taken.append(time.perf_counter() - began)
    return [median(taken) for taken in seconds]


def frame_lines(freedoms: int, rounds: int) -> Iterator[Line]:
    """End to end, and assembly alone, over the bare factors of the same matrix numbered node by node."""
    frame = lattice((5, 5, LAYERS[freedoms]))
    loads = Loads.zeros(frame, "tip")
    loads.nodal[0, -1, 0] = 1.0
    matrix = in_order_of_nodes(frame)
    load = np.zeros(matrix.shape[0])
    load[-6] = 1.0
    symmetric: dict[str, Any] = {"diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}
    ours, theirs, assembly, factors = timed(
        rounds,
        lambda: solve(frame, loads),
        lambda: splu(matrix, permc_spec="MMD_AT_PLUS_A", **symmetric).solve(load),
        lambda: stiffness(parts_of(frame)),
        lambda: splu(matrix, permc_spec="MMD_AT_PLUS_A", **symmetric),
    )
    size = f"{matrix.shape[0]:,} freedoms, {len(frame.ends):,} beams"
    aims = (1.3, 1 / 3) if freedoms == JUDGED else (None, None)
    yield Line(f"solve(), {size}", "scipy's bare factorisation and solve", ours, theirs, aims[0])
    yield Line(f"assembly, {size}", "scipy's bare factorisation", assembly, factors, aims[1])


def slack_line() -> Line:
    """A lattice held back by two guys, one of which goes slack, over the same with neither needed."""
    frame = lattice((5, 5, LAYERS[10_000]))
    tip, row = len(frame.nodes) - 1, (len(frame.nodes) - 5, len(frame.nodes) - 1)
    guys = [
        (f"guy {i}", [foot, head], np.zeros((2, 3)), 1e6, 0.0, 0.0, False)
        for i, foot, head in ((0, 0, row[1]), (1, 4, row[0]))
    ]
    guyed = replace(frame, cables=build_cables(guys))
    loads = Loads.zeros(frame, "aside")
    loads.nodal[0, tip, 1] = 1.0
    guyed_loads = replace(Loads.zeros(guyed, "aside"), nodal=loads.nodal)
    slack, plain = timed(ROUNDS, lambda: solve(guyed, guyed_loads), lambda: solve(frame, loads))
    return Line(
        "a case in which one of two cables goes slack", "the same frame without cables", slack, plain, 3.0
    )


def buckling_line() -> Line:
    """Ten load factors of a lattice column of 30,000 freedoms over the factorisation of its stiffness."""
    frame = lattice((5, 5, LAYERS[BUCKLED]))
    loads = Loads.zeros(frame, "pushed")
    loads.nodal[0, -25:, 2] = -1.0
    solution = solve(frame, loads)
    parts = parts_of(frame)
    matrix = stiffness(parts)
    factors, bare = timed(
        3, lambda: buckling(solution, 0, 10), lambda: factorise_symmetric(matrix, "NATURAL")
    )
    return Line(
        f"ten buckling factors, {matrix.shape[0]:,} freedoms",
        "the factorisation of its stiffness",
        factors,
        bare,
        15.0,
    )


def demo_lines() -> Iterator[Line]:
    """What a user waits for, on the demo boat: mechanics, the page's first answer, and whole processes.

    Seconds are aimed at on a machine that imports the libraries in 0.6 s: half a second of mechanics, 0.3 of the page, three
    until the decision is read, and until all numbers are, 15 for the report.
    """
    yield study_line()
    yield page_line()
    forebeam = str(environment.COMMANDS / "forebeam")
    run = [forebeam, "run", str(DEMO)]
    (ours, theirs) = timed(ROUNDS, Quiet([forebeam, "--help"]), Quiet(python("import click")))
    yield Line("forebeam --help, process", "python -c 'import click'", ours, theirs, 1.5)
    yield start_line()
    with TemporaryDirectory() as folder:
        out = ["--out", str(Path(folder) / "report")]
        report = [*run, *out]
        for what, action, rounds, target in (
            ("forebeam run, until the verdicts are read", Quiet(report, "Strength was"), SWEEP_ROUNDS, 5.0),
            ("until the decision is read", Quiet(report, "What to do next"), SWEEP_ROUNDS, 5.0),
            ("forebeam run --no-pictures", Quiet([*run, "--no-pictures"]), SWEEP_ROUNDS, 5.0),
            ("the same with variants, tables and results", Quiet([*run, "--no-pictures", *out]), 1, 5.0),
            ("forebeam run, report with pictures", Quiet(report), 1, 25.0),
        ):
            (ours, theirs) = timed(rounds, action, LIBRARIES)
            yield Line(what, IMPORTS, ours, theirs, target)


def start_line() -> Line:
    """What stands before the mechanics of every run: its modules loaded, and the demo read and checked."""
    modules = (
        "import cases.cli, cases.analyses.analysis, cases.cli.run_summary, cases.input.boat_file as boats"
    )
    ours, theirs = timed(ROUNDS, Quiet(python(f"{modules}; boats.read_boat_file({str(DEMO)!r})")), LIBRARIES)
    return Line(f"start of a run: modules loaded, {DEMO.name} read", IMPORTS, ours, theirs, 4.0)


def study_line() -> Line:
    """All joints of the demo under all cases, in this process."""
    file = read_boat_file(DEMO)
    ours, theirs = timed(ROUNDS, lambda: run_study(file), LIBRARIES)
    return Line(f"mechanics of {DEMO.name}: all joints, all cases", IMPORTS, ours, theirs, 0.85)


def page_line() -> Line:
    """What the page shows first after a change of plies: a joint's linear cases, sections and margins worked out anew."""
    boat, plies = BoatText.read(DEMO), iter(range(5, 5 + 10 * ROUNDS))

    def changed() -> None:
        layup = ["2x db 600", f"{next(plies)}x uni 300", "3x db 600", "db 300", "mirror"]
        answer(boat, {'laminates."beam tube".layup': layup}, "taped socket", "quick")

    ours, theirs = timed(ROUNDS, changed, LIBRARIES)
    return Line(f"page's quick answer, {DEMO.name}, plies changed", IMPORTS, ours, theirs, 0.5)


def lattice(count: tuple[int, int, int]) -> Frame:
    """A cubic lattice of nodes 1 m apart, joined by beams along its axes, clamped at its first layer."""
    number = np.arange(np.prod(count)).reshape(count)
    ends, axes = [], []
    for axis, up in ((0, 2), (1, 2), (2, 0)):
        spans = range(count[axis] - 1), range(1, count[axis])
        start, end = (np.take(number, span, axis).ravel() for span in spans)
        x, z = np.eye(3)[axis], np.eye(3)[up]
        ends.append(np.column_stack([start, end]))
        axes.append(np.tile([x, np.cross(z, x), z], (len(start), 1, 1)))
    nodes = np.stack(np.meshgrid(*map(np.arange, count), indexing="ij"), axis=-1).reshape(-1, 3).astype(float)
    fixed = np.zeros((len(nodes), 6), dtype=bool)
    fixed[number[..., 0].ravel()] = True
    return uniform(nodes, np.concatenate(ends), np.concatenate(axes), fixed)


def chain(elements: int) -> Frame:
    """A cantilever along x of that many elements, 1 m each."""
    nodes = np.column_stack([np.arange(elements + 1.0), np.zeros((elements + 1, 2))])
    every = np.arange(elements)
    fixed = np.zeros((len(nodes), 6), dtype=bool)
    fixed[0] = True
    return uniform(nodes, np.column_stack([every, every + 1]), np.tile(np.eye(3), (elements, 1, 1)), fixed)


def uniform(nodes: FloatArray, ends: IntArray, axes: FloatArray, fixed: BoolArray) -> Frame:
    """A frame of equal beams without offsets, end springs or springs."""
    m, n, one = len(ends), len(nodes), np.ones(len(ends))
    return Frame(
        nodes=nodes, ends=ends, axes=axes, offsets=np.zeros((m, 2, 3)), EA=1e6 * one, EIy=1e3 * one,
        EIz=1e3 * one, GJ=1e3 * one, GAy=np.inf * one, GAz=np.inf * one, line_mass=one,
        end_springs=np.full((m, 12), np.inf), spring_axes=np.tile(np.eye(3), (m, 2, 1, 1)),
        spring_ends=np.zeros((0, 2), dtype=np.int64), springs=np.zeros((0, 6)),
        point_mass=np.zeros(n), fixed=fixed, ground_nodes=np.full(n, -1),
    )  # fmt: skip


def in_order_of_nodes(frame: Frame) -> sparse.csc_array:
    """The stiffness numbered node by node, without regard to elimination."""
    parts = parts_of(frame)
    order = parts.free[parts.free >= 0]
    matrix = stiffness(parts)[order][:, order].tocsc()
    matrix.sort_indices()
    return matrix


def library_line() -> Line:
    """A straight chain of beams of 12 freedoms, from its nodes to compressed columns, over scikit-fem's.

    There a beam is two Hermite elements (bending twice) and two linear ones (stretch, twist) in one, with two
    points of integration, in one dimension: it turns nothing into global axes and leaves no support out, as
    ours does.
    """
    frame, mesh = chain(CHAIN), MeshLine(np.arange(CHAIN + 1.0))
    beam = ElementLineHermite() * ElementLineHermite() * ElementLineP1() * ElementLineP1()

    def energy(*fields: Any) -> Any:  # noqa: ANN401  (whatever scikit-fem makes of its fields)
        (y, z, stretch, twist), (vy, vz, v, t) = fields[:4], fields[4:8]
        bending = ddot(dd(y), dd(vy)) + ddot(dd(z), dd(vz))
        return 1e3 * bending + 1e6 * dot(grad(stretch), grad(v)) + 1e3 * dot(grad(twist), grad(t))

    form = BilinearForm(energy)
    ours, theirs = timed(
        ROUNDS, lambda: stiffness(parts_of(frame)), lambda: form.assemble(Basis(mesh, beam, intorder=2))
    )
    return Line(
        f"assembly, chain of {CHAIN:,} beams", "scikit-fem's, line elements of 12 freedoms", ours, theirs, 1.0
    )


def combinations_line() -> Line:
    """The envelope of many combinations with five joints, over solving one of them with one joint.

    In the linear case: all cases of the first order, factors that leave every cable taut. The study's own cases are solved
    before; the solution under pretension alone, which the combinations need too, is not.
    """
    boat = read_boat_file(DEMO)
    cases = [case.model_copy(update={"second_order": False}) for case in boat.cases]
    study = run_study(boat.model_copy(update={"cases": cases, "joints": boat.joints[:JOINTS]}))
    names = [case.name for case in study.cases]
    factors = np.random.default_rng(1).uniform(0.0, 1.0, (COMBINATIONS, len(names)))
    combinations = [
        ExpandedCombination(f"combination {number}", "", dict(zip(names, row, strict=True)))
        for number, row in enumerate(factors.tolist())
    ]
    first = study.joints[0]
    one = first.solution.loads.combined(factors[:1], ("one",))
    ours, theirs = timed(
        ROUNDS,
        lambda: [
            envelope(case_rows(one.joint, one.front, one.solution, combinations)) for one in study.joints
        ],
        lambda: solve(first.front.frame, one),
    )
    what = f"{COMBINATIONS} combinations with {JOINTS} joints, envelope"
    return Line(what, "solving one combination with one joint", ours, theirs, 10.0)


def variant_lines() -> Iterator[Line]:
    """Designs of the demo's joints over solving so many of them, and samples of its stiffness over a second.

    Of designs: six springs each, all cases in first order, both sides' joint loads, shares and margins of the parts that one
    force decides. Of samples: every stiffness of the front end, the loads of each case and the pretension drawn anew.
    """
    boat = read_boat_file(DEMO)
    cases = [case for case in boat.load_cases if not case.second_order]
    aims = {
        at: (READINGS[one.reading], one.size) for at, one in enumerate(case.target() for case in cases) if one
    }
    variants = FrontEndVariants.of(
        boat, lambda front: case_loads(front, cases), {"striker": striker_axial}, targets=aims
    )
    joint, rng = boat.joints[0].stiffness(), np.random.default_rng(1)
    springs = 10 ** rng.uniform([6, 6, 6, 4, 4, 4], [9, 9, 9, 8, 8, 8], (DESIGNS, 6))
    groups, cables = len(variants.groups), len(variants.front.frame.cables)
    drawn = Changes(
        multipliers=np.exp(0.3 * rng.standard_normal((SAMPLES, groups))),
        weights=np.exp(0.3 * rng.standard_normal((SAMPLES, len(cases), 1))) * np.eye(len(cases)),
        pretension=rng.uniform(0.5, 1.5, (SAMPLES, cables)),
    )
    parts, working = linear_parts(boat, boat.factors), np.zeros(len(cases), dtype=bool)

    def designed() -> FloatArray:
        found = JointDesigns.of(variants).solve(springs)
        pushed = np.maximum(-found.more["striker"], 0.0).max(axis=2)
        forces = dict(zip(FORCES, (found.tension.max(axis=2), pushed), strict=True))
        lowest = [next(one for one in parts if one.force == force) for force in FORCES]
        return linear_margins(lowest, forces, working)

    front = build(boat, joint)
    loads = case_loads(front, cases)
    designs, samples, one = timed(
        ROUNDS, designed, lambda: variants.solve(joint, drawn), lambda: solve(front.frame, loads)
    )
    yield Line(
        f"{DESIGNS:,} joints of {DEMO.name}, {len(cases)} cases",
        "60 solutions of its frame",
        designs,
        60 * one,
        1.0,
    )
    what = f"{SAMPLES:,} samples of {groups} stiffnesses of it, and loads"
    yield Line(what, "one second", samples, 1.0, 30.0)
    yield Line(what, "a solution of its frame", samples, one)


def uncertainty_line() -> Line:
    """Chances of the demo's described joints, design points and all, over its analysis with margins."""
    boat = read_boat_file(DEMO)

    def analysed() -> Analysis:
        done = Analysis(run_study(boat))
        _ = done.part_margins
        return done

    done = analysed()
    solved = done.study.joints, done.case_rows, done.part_margins
    uncertain, certain = timed(SWEEP_ROUNDS, lambda: uncertainty(sampled(boat, *solved)), analysed)
    what = f"chances of {DEMO.name}, {CHANCE_SAMPLES} samples"
    return Line(what, "its analysis with margins", uncertain, certain, 1.5)


def picture_line() -> Line:
    """Pictures of the demo by two processes over the same by one; the other is ready before the time begins."""
    jobs = list(islice(picture_jobs(Analysis(run_study(read_boat_file(DEMO)))), MEASURED_PICTURES))

    def together() -> float:
        with OtherProcess() as other:
            other.begin(partial(import_module, "matplotlib.backends.backend_svg")).settled.wait()
            began = time.perf_counter()
            drawing = Drawings(other)
            drawing.add(jobs)
            drawing.pictures()
            return time.perf_counter() - began

    def alone() -> float:
        began = time.perf_counter()
        for job in jobs:
            job().picture()
        return time.perf_counter() - began

    jobs[0]().picture()  # fonts and modules are loaded once
    return Line(
        f"{len(jobs)} pictures of {DEMO.name}, two processes", "one process", together(), alone(), 0.65
    )


def sweep_lines() -> Iterator[Line]:
    """A sweep of the demo boat on two processes over one, their start included, and what it adds to the analyses themselves."""
    boat = read_boat_file(DEMO)
    keys = [VariedKey(key="stay.forward", low="0 mm", high="50 mm", count=SWEPT)]
    plan = plan_sweep(boat, GridFile(vary=keys, joints=["taped socket"], designs_per_chunk=SWEPT // 8))
    made = PreparedSweep.of(plan)
    chunk = made.grid.of_chunk(0)
    chosen = [one for one in boat.joints if one.name in made.joints]
    designs = [made.design(number).model_copy(update={"joints": chosen}) for number in chunk]
    with tempfile.TemporaryDirectory() as folder:
        opened = SweepFolder.opened(Path(folder) / "one chunk", plan)
        ours, theirs = timed(
            SWEEP_ROUNDS,
            lambda: opened.write(0, chunk_table(plan, 0)),
            lambda: [Analysis(run_study(one)).with_answers(lives=False).part_margins for one in designs],
        )
        yield Line(f"{len(chunk)} swept designs, written", "their analyses", ours, theirs, 1.1)
        (both,) = timed(1, partial(run_sweep, plan, Path(folder) / "two", on_cores(2)))
        (one,) = timed(1, partial(run_sweep, plan, Path(folder) / "one", on_cores(1)))
        yield Line(f"sweep of {SWEPT} designs, two processes", "one process", both, one, 0.6)


def python(words: str) -> list[str]:
    """The command that runs them."""
    return [str(environment.COMMANDS / "python"), "-c", words]


@dataclass(frozen=True)
class Quiet:
    """A command to run, what it prints dropped; CalledProcessError where it fails.

    until : words after which it is no longer waited for, and ended; empty: to its end
    """

    command: list[str]
    until: str = ""

    def __call__(self) -> None:
        """Run it."""
        with subprocess.Popen(self.command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as run:
            for line in run.stdout or ():
                if self.until and self.until in line:
                    run.terminate()
                    return
            _, said = run.communicate()
        if run.returncode or self.until:
            raise subprocess.CalledProcessError(run.returncode, self.command, stderr=said)


IMPORTS = "python -c 'import numpy, scipy…, pydantic'"
LIBRARIES = Quiet(python("import numpy, scipy.sparse.linalg, pydantic"))


if __name__ == "__main__":
    main()
