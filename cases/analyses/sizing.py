"""Sizing: the smallest stock size of laminate, bond, bolt or wall with which a check holds, solved anew for each size.

A stiffer joint attracts more, so every size is judged by the loads with that size in place. Each step also has the margin at
constant load: where the two differ, the size mostly attracts its own load.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.analyses.boat_sizes import BoatVariable, boat_variables
from cases.analyses.breaking_load import CHECK, PART
from cases.analyses.case_rows import CaseRows, case_rows
from cases.analyses.joint_results import UnsolvedJoint
from cases.analyses.part_loads import part_loads
from cases.analyses.part_margins import PartMargins, extreme_rows
from cases.analyses.solved_cases import solved_cases
from cases.analyses.study import require_answer
from cases.input.boat_file import BoatFile
from cases.loads.rig import Rig, stay_line
from femcore.base import checks
from femcore.base.arrays import BoolArray, FloatArray
from femcore.base.errors import StructureFault
from femcore.base.numbers import finite
from models.checks.beam_parts import FRAME_BUCKLING, beam_part_checks
from models.joints import DIRECTIONS, Joint
from models.joints.base import without_side
from models.response.attraction import AttractionCurve, attraction_curve
from models.response.front_end import FrontEnd
from models.strength.design_variable import DesignVariable
from models.strength.margins import Check, GoverningCheck, envelope, not_checked, with_extreme_loads

if TYPE_CHECKING:
    from cases.analyses.analysis import Analysis

MAX_SIZING_ROUNDS = 12
"""Checks taken up one after another, at most."""
MIN_GAIN_RATIO = 0.7
"""Of the gain in margin at constant load: with less left, a size mostly attracts its own load."""
AS_IT_IS = "as it is"
"""The first size of every variable."""
PITCH, ROLL = DIRECTIONS.index("pitch"), DIRECTIONS.index("roll")


@dataclass(frozen=True, slots=True)
class Step:
    """One size, the boat solved with it.

    margin          : the least of the check that falls short, over sides, cases, combinations and like parts
    at_first_load   : the same, had the loads stayed as they were before the first size; NaN where that is not asked
    torque, bending, force : largest on either joint in any case, N·m and N
    pitch           : N·m/rad, the joint's own
    governing       : the lowest margin of all checks that were made;   mass : kg, of bows and front end, with the joints'
                      fittings as far as they are described
    """

    size: str
    margin: float
    at_first_load: float
    torque: float
    bending: float
    force: float
    pitch: float
    governing: float
    mass: float


@dataclass(frozen=True, slots=True)
class Sizing:
    """One failing check and the design variable raised for it.

    steps  : the present size first;   chosen : place in steps of the size taken, None where no size holds
    attracts_own_load : whether raising it mostly raised its own load
    """

    part: str
    check: str
    design_variable: str
    steps: tuple[Step, ...]
    chosen: int | None
    attracts_own_load: bool


@dataclass(frozen=True, slots=True)
class PitchBound:
    """Which pitch stiffness of the joint keeps racking torque within what the fitting carries: T_rigid k/(k + k_half) = T.

    allowed : N·m, alone, factors in;   part : which fails there;   case : with the most racking torque
    torque, rigid : N·m, racking torque in that case with the joint's own stiffness, and if it were rigid
    own, k_half, most : N·m/rad;  most is None where any stiffness will do
    """

    allowed: float
    part: str
    case: str
    torque: float
    rigid: float
    own: float
    k_half: float
    most: float | None


@dataclass(frozen=True, slots=True)
class RaisedSizes:
    """Sizes raised for what fails.

    sizings : in the order taken;   failing : still below the target;   not_checked : never checked
    """

    sizings: tuple[Sizing, ...]
    failing: tuple[GoverningCheck, ...]
    not_checked: tuple[GoverningCheck, ...]


@dataclass(frozen=True, slots=True)
class JointSizing:
    """What it takes to make one joint hold.

    sizings : in the order taken;   failing : still below the target;   not_checked : never checked
    bound   : on its pitch stiffness;   stay_forward : m, by rig case, where the stay would bring no torque
    entered : the joint as it is, its lowest margin that of all checks; None without an answer
    no_answer : why the boat has no answer with the joint as entered, and nothing above was found; else empty
    """

    joint: str
    target: float
    sizings: tuple[Sizing, ...]
    failing: tuple[GoverningCheck, ...]
    not_checked: tuple[GoverningCheck, ...]
    bound: PitchBound | None
    stay_forward: dict[str, float]
    no_answer: str = ""
    entered: Step | None = None


@dataclass(frozen=True, eq=False)
class Trial:
    """A boat with a joint, solved: the checks of the joint's own parts and of those beside it in every case and combination."""

    file: BoatFile
    joint: Joint
    rows: CaseRows
    own: tuple[Check, ...]
    beside: tuple[Check, ...]

    @classmethod
    def of(
        cls, file: BoatFile, joint: Joint, rows: CaseRows | None = None, solved: FrontEnd | None = None
    ) -> Trial:
        """A boat with a joint; `rows`: where they are solved. StructureFault where a case or combination cannot be.

        solved : a front end whose factors are taken where the frame is the same
        """
        rows = rows or case_rows(joint, *solved_cases(file, joint, solved), file.expanded_combinations)
        # how the frame buckles as a whole is no part's size
        never, extreme = np.zeros(len(rows.names)), extreme_rows(file, rows.names)
        beside = beam_part_checks(file, part_loads(file.load_cases, rows, never), file.factors)
        own = joint.checks(rows.values.joint_load, file.factors)
        return cls(file, joint, rows, *(with_extreme_loads(checks, extreme) for checks in (own, beside)))

    @classmethod
    def of_margins(cls, file: BoatFile, margins: PartMargins) -> Trial:
        """A boat with a joint as they are, whose checks are made."""
        beside = tuple(
            replace(one, load=np.zeros_like(one.load)) if (one.part, one.check) == FRAME_BUCKLING else one
            for one in margins.other_checks
        )
        return cls(file, margins.rows.joint, margins.rows, margins.own, beside)

    @property
    def checks(self) -> tuple[Check, ...]:
        """Of all parts."""
        untried = not_checked(
            PART, CHECK, len(self.rows.names), "sizes are not tried against it: run the boat"
        )
        return (*self.own, *self.beside, untried)

    @cached_property
    def extreme(self) -> BoolArray:
        """(r,), the rows whose loads are extreme ones."""
        return extreme_rows(self.file, self.rows.names)

    @property
    def lowest_margin(self) -> float:
        """Of all parts; NaN where nothing was checked."""
        return min(
            (float(check.margin.min()) for check in self.checks if check.kind == "checked"), default=math.nan
        )

    @property
    def loads(self) -> FloatArray:
        """(r, 2, 6), N and N·m, on the joints."""
        return self.rows.values.joint_load


Variable = DesignVariable[Joint] | BoatVariable
"""Of the joint's own parts the joint with each size; of the others what makes the boat file with it."""


def size_boat(
    boat: BoatFile | Analysis, target: float = 0.0, done: Callable[[], None] = lambda: None
) -> tuple[JointSizing, ...]:
    """Every joint of a boat brought above a least margin `target` where stock sizes can; of an analysis, from its solution.

    done : called after each joint of a boat file

    A joint with which the boat has no answer says so; StructureFault where that is every joint; InputFault where `target` is no
    number, which no margin would be below.
    """
    checks.finite("target", target, ())
    if not isinstance(boat, BoatFile):
        return tuple(size_joint(boat.file, rows.joint, target, rows) for rows in boat.case_rows)
    sized, faults = [], []
    for joint in boat.joints:
        try:
            sized.append(size_joint(boat, joint, target))
        except StructureFault as fault:
            unsolved = UnsolvedJoint(joint, fault)
            faults.append(unsolved)
            sized.append(JointSizing(joint.name, target, (), (), (), None, {}, no_answer=unsolved.reason))
        done()
    require_answer([one for one in sized if not one.no_answer], faults)
    return tuple(sized)


def size_joint(
    file: BoatFile, joint: Joint, target: float = 0.0, rows: CaseRows | None = None
) -> JointSizing:
    """One joint of the file, and the parts beside it with that joint; `rows`: the joint's as entered, where they are solved."""
    first = Trial.of(file, joint, rows)
    raised = raise_sizes(first, target)
    return JointSizing(
        joint=joint.name,
        target=target,
        sizings=raised.sizings,
        failing=raised.failing,
        not_checked=raised.not_checked,
        bound=pitch_bound(file, joint, first.rows),
        stay_forward=_stay_forward(file),
        entered=_entered(first),
    )


def raise_sizes(first: Trial, target: float = 0.0) -> RaisedSizes:
    """What fails in a trial, raised check by check."""
    trial, done = first, list[Sizing]()
    unresolved: set[tuple[str, str]] = set()
    for _ in range(MAX_SIZING_ROUNDS):
        found = envelope(trial.checks)
        failing = next(
            (w for w in _failing(found, target) if (without_side(w.part), w.check) not in unresolved), None
        )
        if failing is None:
            break
        variables = _variables(trial, failing)
        trial_results = [_try_sizes(trial, variable, failing, target) for variable in variables]
        sizing, best = _best_candidate(trial_results)
        done += [sizing] if sizing else []
        if sizing is None or sizing.chosen is None:
            unresolved |= _similar_checks(found, failing, variables)
        trial = best or trial
    found = envelope(trial.checks)
    untried = tuple(one for one in found if one.case is None)
    return RaisedSizes(tuple(done), tuple(_failing(found, target)), untried)


def pitch_bound(file: BoatFile, joint: Joint, rows: CaseRows) -> PitchBound | None:
    """From the exact curve of a linear structure; None where nothing racks the joint or nothing of it is checked.

    The curve, of a unit racking force, is taken in proportion to the torque of the case; a torque that it has where the joint is
    free in pitch (`AttractionCurve.free_moment`) is part of it.

    rows : with the joint as it is. Racking torque is half of port less starboard.
    """
    curve = attraction_curve(file, joint.stiffness(), "pitch")
    limit = _torque_allowed(file, joint)
    if curve is None or limit is None or not curve.joint_stiffness > 0:
        return None
    pitch = rows.values.joint_load[..., PITCH]
    port, starboard = pitch.T
    racking = np.abs(port - starboard) / 2
    case = int(racking.argmax())
    force = float(racking[case] / abs(curve.moment(curve.joint_stiffness)))
    rigid = force * abs(curve.rigid_moment)
    most = max_pitch_stiffness(curve, rigid, limit[0])
    return PitchBound(
        *limit, rows.names[case], float(racking[case]), rigid, curve.joint_stiffness, curve.k_half, most
    )


def max_pitch_stiffness(curve: AttractionCurve, rigid: float, allowed: float) -> float | None:
    """N·m/rad at which the torque is `allowed`, N·m, where it is `rigid` with a joint rigid in pitch; None where even that is
    within it, 0 where the torque of a joint free in pitch is not.
    """
    free = rigid * curve.free_moment / curve.rigid_moment
    return None if rigid <= allowed else max(0.0, curve.k_half * (allowed - free) / (rigid - allowed))


def sizing_data(sized: tuple[JointSizing, ...]) -> list[dict[str, Any]]:
    """JSON-ready, with the steps of every design variable as arrays."""
    return [_data(one) for one in sized]


def _torque_allowed(file: BoatFile, joint: Joint) -> tuple[float, str] | None:
    unit = np.zeros((1, 6))
    unit[0, PITCH] = 1.0
    known = [check for check in joint.port_checks(unit, file.factors) if check.kind == "checked"]
    grown = [float(check.growth(check.factor.value)[0]) for check in known]
    if not grown or not math.isfinite(min(grown)):
        return None
    least = known[int(np.argmin(grown))]
    return min(grown), f"{least.part}: {least.check}"


def _failing(found: tuple[GoverningCheck, ...], target: float) -> list[GoverningCheck]:
    return [worst for worst in found if worst.case is not None and worst.margin < target]


def _is_joint_part(part: str) -> bool:
    """Whether it is one of the joint's own parts, by its full name."""
    return part != without_side(part)


def _applies(variable: Variable, of_joint: bool, part: str, check: str) -> bool:  # noqa: FBT001
    """Whether a variable of the joint, or of the boat, helps a check of a part by its full name."""
    return _is_joint_part(part) == of_joint and variable.applies_to(without_side(part), check)


def _similar_checks(
    found: tuple[GoverningCheck, ...], failing: GoverningCheck, variables: list[Variable]
) -> set[tuple[str, str]]:
    """A check and those of like parts that the same variables were to help: one try is for all of them."""
    of_joint = _is_joint_part(failing.part)
    return {
        (without_side(w.part), w.check)
        for w in found
        if w.check == failing.check and any(_applies(one, of_joint, w.part, w.check) for one in variables)
    } | {(without_side(failing.part), failing.check)}


def _variables(trial: Trial, failing: GoverningCheck) -> list[Variable]:
    """Everything that may help a check: of the joint where it is one of its own, else of the boat."""
    of_joint = _is_joint_part(failing.part)
    known: tuple[Variable, ...] = trial.joint.design_variables() if of_joint else boat_variables(trial.file)
    return [one for one in known if one.sizes and _applies(one, of_joint, failing.part, failing.check)]


def _try_sizes(
    before: Trial, variable: Variable, failing: GoverningCheck, target: float
) -> tuple[Sizing, tuple[Trial, ...]]:
    """Sizes upward until the check holds, with the trials that belong to the steps."""
    steps, trials, chosen = [_step(AS_IT_IS, before, before, variable, failing)], [before], None
    for words, sized in variable.sizes:
        try:
            trial = (
                Trial.of(before.file, sized) if isinstance(sized, Joint) else Trial.of(sized(), before.joint)
            )
        except StructureFault:
            continue
        steps.append(_step(words, trial, before, variable, failing))
        trials.append(trial)
        if steps[-1].margin >= target:
            chosen = len(steps) - 1
            break
    return Sizing(
        without_side(failing.part),
        failing.check,
        variable.name,
        tuple(steps),
        chosen,
        _attracts_own_load(steps),
    ), tuple(trials)


def _step(words: str, trial: Trial, before: Trial, variable: Variable, failing: GoverningCheck) -> Step:
    of_joint = _is_joint_part(failing.part)

    def least(checks: tuple[Check, ...]) -> float:
        return _least(
            [c for c in checks if c.check == failing.check and _applies(variable, of_joint, c.part, c.check)]
        )

    at_first_load: tuple[Check, ...] = ()
    if of_joint:
        at_first_load = (
            before.own
            if trial is before
            else with_extreme_loads(trial.joint.checks(before.loads, trial.file.factors), before.extreme)
        )
    return _read(words, trial, least(trial.checks), least(at_first_load))


def _entered(trial: Trial) -> Step:
    lowest = _least(trial.checks)
    return _read(AS_IT_IS, trial, lowest, lowest)


def _least(checks: Sequence[Check]) -> float:
    """The lowest margin of those that were made; NaN without any."""
    return min((float(c.margin.min()) for c in checks if c.kind == "checked"), default=math.nan)


def _read(words: str, trial: Trial, margin: float, at_first_load: float) -> Step:
    """A size, with these margins of the check in question, read of its trial."""
    loads = np.abs(trial.loads)
    return Step(
        size=words,
        margin=margin,
        at_first_load=at_first_load,
        torque=float(loads[..., PITCH].max()),
        bending=float(loads[..., ROLL].max()),
        force=float(np.linalg.norm(loads[..., :3], axis=-1).max()),
        pitch=trial.joint.stiffness().own_stiffness("pitch"),
        governing=_least(trial.checks),
        mass=trial.rows.front.frame.mass + 2 * sum(trial.joint.masses().values()),
    )


def _attracts_own_load(steps: list[Step]) -> bool:
    """Whether the last size brought less than most of what it would have brought had the load stayed."""
    first, last = steps[0], steps[-1]
    expected_gain, actual_gain = last.at_first_load - first.margin, last.margin - first.margin
    return bool(len(steps) > 1 and expected_gain > 0 and actual_gain < MIN_GAIN_RATIO * expected_gain)


def _best_candidate(
    trial_results: list[tuple[Sizing, tuple[Trial, ...]]],
) -> tuple[Sizing | None, Trial | None]:
    """The first variable with a size that holds; else the one that comes nearest, at its best size, if that is a gain."""
    for sizing, trials in trial_results:
        if sizing.chosen is not None:
            return sizing, trials[sizing.chosen]
    best = max(trial_results, key=lambda pair: max(s.margin for s in pair[0].steps), default=None)
    if best is None:
        return None, None
    sizing, trials = best
    return sizing, trials[int(np.argmax([step.margin for step in sizing.steps]))]


def _stay_forward(file: BoatFile) -> dict[str, float]:
    stay = file.stay
    rigs = [case for case in file.load_cases if isinstance(case, Rig)]
    return {case.name: stay_line(case, stay.forward, stay.up).torque_free_forward for case in rigs}


def _data(one: JointSizing) -> dict[str, Any]:
    return {
        "joint": one.joint,
        "target": one.target,
        "sizings": [
            {
                "part": s.part, "check": s.check, "raised": s.design_variable, "chases_its_own_load": s.attracts_own_load,
                "taken": None if s.chosen is None else s.steps[s.chosen].size,
                "curve": {key: [_json(getattr(step, key)) for step in s.steps] for key in Step.__slots__},
            }
            for s in one.sizings
        ],
        "short": [{"part": w.part, "check": w.check, "margin": w.margin} for w in one.failing],
        "not_checked": [{"part": w.part, "check": w.check, "reason": w.reason} for w in one.not_checked],
        "pitch_bound": None if one.bound is None else {k: _json(v) for k, v in asdict(one.bound).items()},
        "stay_forward_for_no_torque": one.stay_forward, "no_answer": one.no_answer,
    }  # fmt: skip


def _json(value: object) -> object:
    return finite(value) if isinstance(value, float) else value
