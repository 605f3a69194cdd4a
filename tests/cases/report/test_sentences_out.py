"""Every figure in the sentences of the report against the analysis, by value, sign and unit; half of the last digit is allowed.

`SAYS` knows each sentence by how it begins, and its figures by expressions of its own. A sentence that has a figure and no entry
turns a test red, unless all of it is the program's own constant text. Names stand in ‘quotation marks’ and are
compared too, where an entry gives them. Captions are those of the pictures, each by the picture's name.
"""

import ast
import math
import re
from dataclasses import replace
from functools import cache, cached_property

import numpy as np
import pytest
from scipy.stats import chi2

from cases.report import output
from cases.report.figures import report_figures
from cases.report.output import all_sections
from cases.report.pages import report_page
from cases.report.pages.card import card
from femcore.base.numbers import shorten
from femcore.plotting.drawing import Picture
from femcore.plotting.force_flow import MAX_ARROW_WIDTH
from femcore.plotting.frame_plot import deflection_scale
from femcore.solvers.beam_fields import end_forces
from models.response.front_end import SIDES
from models.response.platform_frame import platform_response
from tests.cases.report import numbers_boat, wide_boat
from tests.cases.report.figures_read import figures
from tests.cases.report.page_read import blocks, is_constant, sentences, without_names
from tests.models.boats import MIRROR, ROOT

TORQUE, BENDING, YAWING = 4, 3, 5
WORD = {"torque": TORQUE, "vertical bending": BENDING, "fore-and-aft bending": YAWING}
BOATS = {"first": numbers_boat.analysis, "wide": wide_boat.analysis}
FORWARD, UP = 0.05, 0.12
"""m, of the stay's eye from the crossbeam's shear centre, on both boats."""
SAYS = []


def says(pattern, picture=""):
    """An entry of `SAYS`: how a sentence begins, in captions of pictures with such a name alone where one is given."""
    return lambda entry: SAYS.append((re.compile(pattern), re.compile(picture or "^"), entry)) or entry


class Told:
    """An analysis, read by other ways than the sentences' own."""

    def __init__(self, analysis):
        self.analysis, self.study, self.file = analysis, analysis.study, analysis.file

    def joint(self, name):
        """All cases of a joint."""
        return next(one for one in self.study.joints if one.joint.name == name)

    def rows(self, name):
        """Names and joint loads (r, 2, 6) over cases and combinations."""
        one = next(one for one in self.analysis.case_rows if one.joint.name == name)
        return one.names, one.values.joint_load

    def checks(self, name, *, own):
        """(margin, part, check, factor, row) of each check made, of its own parts or those beside it, the lowest first."""
        one = next(one for one in self.analysis.part_margins if one.joint == name)
        made = [check for check in (one.own if own else one.other_checks) if check.kind == "checked"]
        return sorted(
            ((float(c.margin.min()), c.part, c.check, c.factor, one.rows.names[int(c.margin.argmin())]) for c in made),
            key=lambda found: found[0],
        )  # fmt: skip

    @property
    def joints(self):
        """Names."""
        return [one.joint.name for one in self.study.joints]

    def attracted(self, joint, case, column):
        """N or N·m that a case adds to pretension, the larger of both hulls."""
        found = next(one for one in self.joint(joint).cases if one.case.name == case)
        rest = 0.0 if found.pretension_joint_load is None else found.pretension_joint_load
        size = np.abs(found.joint_load - rest).max(axis=0)
        return size[column] if size[column] > 1e-9 * size.max() else 0.0

    def case(self, joint, name):
        """A case with a joint; a name may be shortened."""
        return next(c for c in self.joint(joint).cases if name in {c.case.name, shorten(c.case.name, 40)})

    @cached_property
    def shown(self):
        """The joint of the load paths: the stiffest in racking."""
        return max(self.study.joints, key=lambda one: one.racking_stiffness)

    @property
    def candidate(self):
        """The one joint whose parts are described."""
        return next(name for name in self.joints if self.checks(name, own=True))

    @property
    def rig(self):
        """The rig's one case."""
        return next(case for case in self.study.cases if case.kind == "rig")

    def stay(self, sag=None):
        """(up, aft, offset, torque, torque-free place) of the stay by statics; `sag`: aft over the span, else the case's."""
        rig = self.rig
        aft = rig.sagging_stay.aft if sag is None else sag
        foot, tension = rig.rake + math.atan(4 * aft), rig.stay_tension
        up, back = (
            tension * (math.cos(rig.rake) - 4 * aft * math.sin(rig.rake)),
            tension * (math.sin(rig.rake) + 4 * aft * math.cos(rig.rake)),
        )
        offset = -UP * math.sin(foot) - FORWARD * math.cos(foot)
        return up, back, offset, -UP * back - FORWARD * up, -UP * math.tan(foot)


def chance(value):
    """Of a chance in a sentence: its figure, and the word before it where it is cut."""
    return (0.01, "%") if value < 0.005 else (0.99, "%") if value > 0.995 else (value, "%")


def quoted(name):
    """A name as a sentence shows it."""
    return f"‘{shorten(name, 40)}’"


# --- the answer, the card's sentence and what to do next ---------------------------------------------------------------------


@says("‘(.*?)’: (inadequate|adequate for what was checked), lowest margin")
def card_sentence(of, found, _):
    """The lowest of its own margins and those beside it; its life where that is shorter than the service."""
    name = found[1]
    lowest = min(of.checks(name, own=True)[0][0], of.checks(name, own=False)[0][0])
    yield lowest, ""
    assert (lowest < 0) == (found[2] == "inadequate") or "fatigue life" in found.string
    if "fatigue life" in found.string:
        yield from life(of, name)
    if "warning" in found.string:
        yield len(of.analysis.warnings), ""


def in_name(part):
    """Figures in the name of a part: "lug 1"."""
    return ((one.value, "") for one in figures(part))


def life(of, name):
    """Miles of what of a joint wears out first, and those of the service."""
    lives = next(one for one in of.analysis.fatigue_lives.joints if one.joint == name)
    damage = max(one.damage for one in (*lives.lives, *lives.welds, *lives.glue))
    yield miles(20000 / damage), ""
    yield 20000, ""


@says("Move the stay's tang .* (aft|forward)")
def move_of_stay(of, found, _):
    """From where it is to where the stay has no torque."""
    move = of.stay()[-1] - FORWARD
    assert found[1] == ("aft" if move < 0 else "forward")
    yield abs(move), "m"


@says("Torque of the stay in ‘(.*?)’:")
def torque_with_tang_moved(of, found, _):
    """To none; of each candidate's joint to what the action found."""
    yield abs(of.stay()[3]), "N·m"
    yield 0.0, ""
    (action,) = [one for one in of.analysis.decision.actions if one.kind == "move the stay"]
    for one in action.joints:
        yield quoted(one.joint)
        yield np.abs(of.case(one.joint, found[1]).joint_load[:, TORQUE]).max(), "N·m"
        yield one.torque_after, None


@says("Lowest margins: ")
def margins_with_tang_moved(of, _found, _before):
    """As it is: the lowest of all checks but that of buckling as a whole."""
    (action,) = [one for one in of.analysis.decision.actions if one.kind == "move the stay"]
    for one in action.joints:
        yield quoted(one.joint)
        yield of.checks(one.joint, own=True)[0][0], ""
        yield one.margin_after, ""


@says("‘(.*?)’: [a-z ]+ [0-9].* → [−0-9.]+")
def sizes_raised(of, found, _):
    """Margins before are those of the checks; sizes are words of the action."""
    (action,) = [
        one for one in of.analysis.decision.actions if one.kind == "raise sizes" and one.joint == found[1]
    ]
    made = of.checks(found[1], own=True)
    for number, one in enumerate(action.sizes):
        yield from ((size.value, size.unit) for size in figures(f"{one.variable} {one.size}: {one.check}"))
        yield from ((one.before, ""), (one.after, ""))
        assert (one.after >= 0) == one.adequate
        if number == 0:  # each later one is raised with those before it
            before = min(margin for margin, _, check, *_ in made if check == one.check)
            assert one.before == pytest.approx(before, rel=1e-9)


@says("Margin [−0-9.]+ remains: ")
def still_below(of, found, _):
    """What no size helps: a check of the joint's own."""
    lowest = of.checks(of.candidate, own=True)[0]
    yield lowest[0], ""
    assert lowest[2] in found.string


@says("Strength was checked under ")
def strength_under(of, _found, _):
    """How many cases, by where their loads come from, and combinations."""
    yield from loads_of(of)


@says("Loads: ")
def grounds_loads(of, _found, _):
    """The same."""
    yield from loads_of(of)


def loads_of(of):
    """Cases in all, those of each basis, combinations."""
    yield len(of.study.cases), ""
    bases = [case.provenance().basis for case in of.study.cases]
    for basis in ("entered", "computed", "estimated"):
        if basis in bases:
            yield bases.count(basis), ""
    yield len(of.rows(of.joints[0])[0]) - len(of.study.cases), ""


@says("‘(.*?)’: (inadequate|adequate for what was checked); governing")
def joint_s_verdict(of, found, _):
    """Its lowest margin with the factor and the row."""
    margin, part, check, factor, row = of.checks(found[1], own=True)[0]
    yield from ((margin, ""), (factor.value, ""), quoted(row))
    assert f"{part}: {check}" in found.string
    lacking = next(one for one in of.analysis.part_margins if one.joint == found[1]).worst
    own = {check.part for check in next(one for one in of.analysis.part_margins if one.joint == found[1]).own}
    missing = [one for one, name in lacking if name is None and one.part in own]
    if missing:
        yield len({(re.sub("^(port|starboard) ", "", one.part), one.check) for one in missing}), ""


@says("Parts beside the joints")
def verdict_beside(of, found, _):
    """The lowest of all joints."""
    lowest, name = min((of.checks(name, own=False)[0], name) for name in of.joints)
    margin, part, check, factor, row = lowest
    yield from ((margin, ""), (factor.value, ""), quoted(row), quoted(name))
    assert f"{part}: {check}" in found.string


@says("Design (torque|vertical bending): ")
def design_load(of, found, _):
    """The joints with the most and the least, and the row of the most."""
    most = {name: np.abs(of.rows(name)[1][..., WORD[found[1]]]).max() for name in of.joints}
    first, last = max(most, key=most.get), min(most, key=most.get)
    names, load = of.rows(first)
    sizes = np.abs(load[..., WORD[found[1]]]).max(axis=1)
    row = int((sizes >= sizes.max() * (1 - 1e-9)).argmax())
    yield from ((most[first], "N·m"), quoted(first), quoted(names[row]), (most[last], "N·m"), quoted(last))


@says("Largest part due to racking: ")
def racking_part(of, _found, before):
    """Half of port less mirrored starboard, of the joint with the most."""
    column = WORD[re.findall("Design (torque|vertical bending)", before)[-1]]
    most = {name: np.abs(of.rows(name)[1][..., column]).max() for name in of.joints}
    names, load = of.rows(max(most, key=most.get))
    part = np.abs((load - load[:, ::-1] * MIRROR) / 2)[:, 0, column]
    yield part.max(), "N·m"
    yield quoted(names[int((part >= part.max() * (1 - 1e-9)).argmax())])


@says("‘(.*?)’: the pin's play, ")
def play_of_pin(of, found, _):
    """Clearances and the free angle."""
    (play,) = [one for one in of.analysis.joint_plays if one.joint == found[1]]
    yield from ((play.play.in_lugs, "m"), (play.play.in_eyes, "m"), (play.play.angle, "rad"))


@says("It opens in ")
def play_opens(of, _found, _):
    """In how many rows, and in the worst: what acts, what closes it, what is left with play."""
    (play,) = of.analysis.joint_plays
    beyond = play.couple - play.opening
    row, side = np.unravel_index(beyond.argmax(), beyond.shape)
    yield from (
        ((beyond > 0).any(axis=1).sum(), ""),
        (len(play.names), ""),
        f"‘{play.names[row]}’, {SIDES[side]}",
    )
    for value in (play.couple, play.opening, play.with_play):
        yield value[row, side], "N·m"


@says("Racking alone, case ‘racking’ |Case ‘racking’: |3 kN up ")
def racking_case(_of, _found, _):
    """3 kN was entered."""
    yield 3e3, "N"


@says("(Racking torque|Vertical bending): ‘")
def attracted(of, found, _):
    """The most and the least of what the joints attract."""
    column = TORQUE if found[1] == "Racking torque" else BENDING
    sizes = {name: of.attracted(name, "racking", column) for name in of.joints}
    first, last = max(sizes, key=sizes.get), min(sizes, key=sizes.get)
    yield from (quoted(first), (sizes[first], "N·m"), quoted(last))
    if sizes[last]:
        yield sizes[last], "N·m"
    else:
        assert "none" in found.string


@says("Pretension alone puts up to ")
def pretension_on_joints(of, _found, _):
    """Vertical bending of the joint with the most."""
    rest = {
        name: np.abs(of.case(name, "racking").pretension_joint_load[:, BENDING]).max() for name in of.joints
    }
    most = max(rest, key=rest.get)
    yield from ((rest[most], "N·m"), quoted(most))


@says("‘(.*?)’ raises racking stiffness by ")
def stiffness_raised(of, _found, _):
    """Of the one candidate over the bare bows."""
    bare, stiff = of.study.bare_racking_stiffness, of.joint(of.candidate).racking_stiffness
    yield from (quoted(of.candidate), (stiff / bare - 1, "%"), (bare / 1e3, ""), (stiff, "N/m"))


@says("Half-(torque|bending) stiffness: ")
def half_stiffness(of, found, _):
    """By two points of each curve: M(k) = M_rigid k/(k + k_half) with nothing free; the least and the most of the joints."""
    direction = {"torque": "pitch", "bending": "roll"}[found[1]]
    values = [one.curves[direction].k_half for one in of.study.joints if one.curves[direction]]
    figures_shown = figures(without_names(found.string))
    if len(figures_shown) == 1:
        assert max(values) / min(values) < 1.006
        yield max(values), "N·m/rad"
    else:
        yield from ((min(values) / 1e3, ""), (max(values), "N·m/rad"))


@says("In ‘(.*?)’ .*the stay pulls ")
def stay_pulls(of, found, _):
    """Up and aft at its foot; what is estimated is marked."""
    up, aft, *_ = of.stay()
    if "estimated" in found.string:
        yield 0.04, "%"
    yield from ((up, "N"), (aft, "N"))


@says("Its line passes .* (ahead of|behind) .* leading side (up|down)")
def stay_passes(of, found, _):
    """By statics; ahead of the axis it lifts the leading side."""
    _, _, offset, torque, _ = of.stay()
    assert (found[1] == "ahead of") == (offset < 0)
    assert (found[2] == "up") == (torque < 0)
    yield from ((abs(offset), "m"), (abs(torque), "N·m"))


@says("Attached .* (ahead of|behind) ")
def stay_torque_free(of, found, _):
    """Where its line, produced, meets the axis."""
    free = of.stay()[-1]
    assert (found[1] == "ahead of") == (free > 0)
    yield abs(free), "m"


@says("With a sag aft of 2 %")
def stay_sags(of, found, _):
    """Against the straight stay at the same tension."""
    sag, straight = of.stay(0.02), of.stay(0.0)
    yield from ((0.02, "%"), (math.degrees(math.atan(0.08)), "°"), (sag[3], "N·m"), (straight[3], "N·m"))
    yield from ((abs(sag[4]), "m"), (abs(straight[4]), "m"))
    assert found.string.count("behind") == 2
    assert sag[4] < straight[4] < 0


@says("The same sag to one side ")
def stay_sags_aside(of, _found, _):
    """4 T s/L."""
    yield 4 * of.rig.stay_tension * 0.02, "N"


@says("In ‘rig’ the headsail gives the stay a sag")
def headsail(of, _found, _):
    """60 N/m to port and 40 N/m aft on 13 m: w L²/8T, half of each load at the foot, 4 s/L further aft."""
    tension = of.rig.stay_tension
    yield from (
        (math.hypot(60, 40) * 13**2 / 8 / tension, "m"),
        (13.0, "m"),
        (60 * 13 / 2, "N"),
        (40 * 13 / 2, "N"),
    )
    yield math.degrees(math.atan(4 * 40 * 13 / 8 / tension)), "°"


@says("The tension of ‘rig’ is estimated")
def tensions(of, _found, _):
    """The least and the most, and their ratio."""
    known = [one.tension for one in of.rig.tension_range.estimates]
    yield from ((len(known), ""), (min(known), "N"), (max(known), "N"), (max(known) / min(known), ""))


@says("Value used: |Mast statics gives |Stay at ")
def tension_used(of, found, _):
    """The largest was asked for by default; how far the drive moves mast statics; how far the stay is bowed out."""
    rig, text = of.rig, found.string
    if "estimate" not in text and not text.startswith(("Value", "Mast")):
        yield from ((30e3, "N"), (12.0, "°"))
        return
    low, high = next(one.at_drives for one in rig.tension_range.estimates if one.at_drives)
    tension = max(one.tension for one in rig.tension_range.estimates)
    if text.startswith("Value"):
        yield tension, "N"
    elif text.startswith("Mast"):
        yield from ((low, "N"), (high, "N"), (0.1, ""))
    else:
        bowed = 13**2 / 8 / tension
        yield from (
            (tension, "N"),
            (12.0, "°"),
            (2, ""),
            (min(e.tension for e in rig.tension_range.estimates), "N"),
        )
        yield from (
            (tension, "N"),
            (low, "N"),
            (high, "N"),
            (0.1, ""),
            (40 * bowed, "m"),
            (60 * bowed, "m"),
            (0.04, "%"),
        )


@says("The verdict on ‘(.*?)’ changes at ")
def verdict_changes(of, found, _):
    """All loads by one factor: 1 + the lowest margin where all grow alike; the racking's factor by its own flip."""
    (one,) = [one for one in of.analysis.decision.candidates if one.joint == found[1]]
    for flip in one.flips:
        yield from ((0, ""), (4, "")) if flip.factor is None else ((flip.factor, ""),)


@says("Inputs (that are )?estimated, not entered: |Inputs that are estimated, not entered: ")
def inputs_estimated(_of, _found, _):
    """One value was marked."""
    yield 1, ""


@says("Warning. 1 inputs? (is|are) estimated|Warning. 1 ")
def warning_of_estimates(_of, _found, _):
    """With the scatter of the one."""
    yield from ((1, ""), (0.04, "%"))


@says("Safety factors and their options: ")
def factors_left(_of, _found, _):
    """Neither file gives any."""
    yield from ((14, ""), (14, ""))


@says("From memory, not looked up: ")
def from_memory(of, _found, _):
    """Sources of checks from memory, and strengths."""
    sources = {
        check.source
        for one in of.analysis.part_margins
        for check, case in one.worst
        if case and "from memory" in check.source
    }
    yield from ((len(sources), ""), (len(of.analysis.remembered_strengths), ""))


def quality(of, key):
    """The worst over joints and cases, as one digit times a power of ten."""
    worst = max(float(np.max(getattr(one.solution, key))) for one in of.study.joints)
    power = math.floor(math.log10(worst))
    return round(worst / 10**power) * 10.0**power


@says(
    "Numerical errors: |Loads and reactions balance |Estimated error of the displacements: |Numerical accuracy. "
)
def numerical_errors(of, found, _):
    """Worst of all joints and cases."""
    if found.string.startswith("Numerical accuracy"):
        yield max(one.solution.parts.equations for one in of.study.joints), ""
    elif found.string.startswith("Loads"):
        yield from ((quality(of, "balance"), ""), (0.0, ""))
    elif found.string.startswith("Estimated"):
        yield from (
            (quality(of, "error"), ""),
            (quality(of, "first_error"), ""),
            (np.finfo(np.longdouble).precision, ""),
        )
    else:
        yield from ((quality(of, "balance"), ""), (quality(of, "error"), ""))


@says("Division into elements: |Error from division ")
def division(of, _found, _):
    """Worst of all joints and cases, by what is moved or carried."""
    known = [one for errors in of.analysis.discretisation for one in errors]
    for key in ("stems", "force", "moment"):
        yield max(0.0001, *(getattr(one, key) or 0.0 for one in known)), "%"


# --- further topics ----------------------------------------------------------------------------------------------------------


@says("The envelope is over |How the ")
def envelope_of(of, found, _):
    """Rows of all joints."""
    cases, joints = len(of.study.cases), len(of.joints)
    combined = len(of.rows(of.joints[0])[0]) - cases
    if found.string.startswith("The"):
        yield from ((cases, ""), (combined, ""), (joints, ""))
    else:
        yield from ((combined * joints, ""), (combined * joints, ""))  # all of them superposed


@says("Torque capacity of ‘(.*?)’")
def torque_capacity(of, found, _):
    """Of the first part to fail under torque alone, and the twist of the joint's own stiffness under it."""
    joint = of.joint(found[1])
    failure = joint.joint.moment_at_failure("pitch")
    yield from (
        (failure.moment, "N·m"),
        (failure.moment / joint.curves["pitch"].joint_stiffness, "rad"),
    )
    yield from in_name(failure.part)


@says("Racking alone would put that torque on it at ")
def racking_to_capacity(of, _found, _):
    """Torque grows with the force at the stems: 3 kN make what the joint attracts."""
    name = of.candidate
    torque = of.joint(name).joint.moment_at_failure("pitch").moment
    yield 3e3 * torque / of.attracted(name, "racking", TORQUE), "N"


@says("‘?[a-z ]*’?:? ?Largest change: (.*?), at most ")
def largest_change(of, found, _):
    """The quantity of the variant at the joint with the most, before and after; its ratio."""
    boats = {one.name: one.analysis for one in of.analysis.compared}
    name = "soft plates" if "soft plates" in found.string else "no martingale"

    def most(made):
        if found[1].startswith("torque that racking adds"):
            return max(Told(made).attracted(joint, "racking", TORQUE) for joint in of.joints)
        return max(
            np.abs(c.joint_load[:, BENDING]).max()
            for j in made.study.joints
            for c in j.cases
            if c.case.kind == "rig"
        )

    before, after = most(boats["as entered"]), most(boats[name])
    yield after, "N·m"
    yield (after / before, "") if after > 2 * before else (after / before - 1, "%")
    yield before, "N·m"


@says(
    "Racking turns one hull |The closed form gives |Opposite forces at the stems |A pitch spring at the bulkhead "
)
def platform(of, found, _):
    """Twist centre and twist of the frame, of the closed form; the lever to the stems at 4 m."""
    response, text = platform_response(of.file), found.string
    if text.startswith("Racking"):
        yield from ((-response.twist_centre, "m"), (1e3, "N·m"), (1e3 * response.twist_per_moment, "rad"))
    elif text.startswith("The closed"):
        yield from ((2.0, "m"), (1e3 * response.hand.twist_per_moment, "rad"))
    elif text.startswith("Opposite"):
        yield 4.0 - response.twist_centre, "m"
    else:  # about the root the beam at 3.5 m has a lever of 3.5 m in place of 3.5 − x_c
        yield 3.5 / (3.5 - response.twist_centre), "%"


@says("How large the racking is decides ")
def racking_far(of, _found, _):
    """No other way is as near."""
    ways = {way.name: way.moment for way in of.analysis.racking_ways.ways}
    assert all(not 1 / 1.5 < ways["racking"] / one < 1.5 for name, one in ways.items() if name != "racking")
    yield 1.5, ""


@says("The racking entered is far |‘racking’ has |Of the . others |Rules are worked out ")
def ways_of_racking(of, found, _):
    """3 kN at the lever of the twist centre, or of the root; of other ways, cases as run of one case once."""
    platform_of = platform_response(of.file) if of.file.platform else None
    text, moment = found.string, 3e3 * (4.0 - (platform_of.twist_centre if platform_of else 0.0))
    most = {}
    for way in of.analysis.racking_ways.ways:
        if way.name != "racking":
            most[way.case] = max(way.moment, most.get(way.case, 0.0))
    if text.startswith("The racking"):
        yield from ((1.5, ""), (moment, "N·m"))
    elif text.startswith("‘racking’"):
        yield moment, "N·m"
    elif text.startswith("Of the"):
        above = {name: size for name, size in most.items() if size > moment}
        least = min(above, key=above.get)
        yield from ((len(most), ""), (len(above), ""), quoted(least), (above[least], "N·m"))
    else:
        yield from ((6e6, "t"), (10.4, "m"))


def wave_of_most_torque(of):
    """The wave in which a joint has the most torque."""
    (scan,) = of.analysis.wave_scans
    most = max(scan.joints, key=lambda one: one.over_heading[:, TORQUE].max())
    return scan, most.components[TORQUE].state


@says("‘waves’: [0-9,]+ regular waves|Most torque at a joint comes from |Both hulls on a regular wave")
def waves(of, found, _):
    """Wave of most torque; its moments are the load along the hulls times its distance, summed on a fine grid."""
    scan, state = wave_of_most_torque(of)
    if found.string.startswith("‘"):
        yield scan.states, ""
        return
    if found.string.startswith("Most"):
        moments = moments_of(scan.form, scan.load)
        yield from (
            (state.length, "m"),
            (state.height, "m"),
            (math.degrees(state.heading), "°"),
            *((abs(m), "N·m") for m in moments),
        )
        return
    text = found.string.lower()
    (case,) = [one for one in of.study.cases if f"{one.words()}.".lower() == text]
    long, high = figures(found.string)[3:5]
    assert high.value == pytest.approx(long.value / 20, abs=high.half_digit + long.half_digit / 20)
    yield from ((1, ""), (20, ""), (45, "°"), (long.value, "m"), (high.value, "m"))
    ways = {way.name: way.moment for way in of.analysis.racking_ways.ways}
    yield from (
        (ways[case.name], "N·m"),
        (abs(of.case(of.joints[0], case.name).shares.racking_moment), "N·m"),
    )


def moments_of(form, load):
    """N·m, half of port less starboard of ∫ q x dx over the hulls, and over the bows ahead of the root."""
    x = np.linspace(form.x[0], form.x[-1], 200_001)
    difference = (np.interp(x, form.x, load[0]) - np.interp(x, form.x, load[1])) / 2
    return np.trapezoid(difference * x, x), np.trapezoid(np.where(x > 0, difference * x, 0.0), x)


@says("Margins are under pretension and wave")
def directions_tried(_of, _found, _):
    """Twelve, and either way along each component."""
    yield 24, ""


@says("The service is ")
def service(_of, _found, _):
    """As entered."""
    yield from ((20000, ""), (2e6, ""))


@says("Racking: ‘racking’, entered as reached once|The largest cycle, once |In brackets: the life with ")
def service_racking(_of, found, _):
    """An even Weibull's shape, from one bow up to the other, and the band of loads."""
    text = found.string
    yield from (
        [(1, "")]
        if text.startswith("Racking")
        else [(2.0, "")]
        if text.startswith("The")
        else [(1.6, ""), (0.6, "")]
    )


def miles(value):
    """Of a life: two digits, and no further than ten million."""
    return 10 if value > 1e7 else float(f"{value:.2g}")


@says(
    "Shortest life: ‘weld’|Fillet welds of the joints, shortest life|Glue by the decade rule, shortest life"
)
def shortest_lives(of, found, _):
    """Of the detail, weld or glue line with most damage over all joints: miles and the band's ends, and the damage."""
    kind = {"S": "lives", "F": "welds", "G": "glue"}[found.string[0]]
    joints = of.analysis.lives_with_bands.joints
    known = [(one.damage, one, joint, k) for joint in joints for k, one in enumerate(getattr(joint, kind))]
    damage, one, joint, k = max(known, key=lambda row: row[0])
    yield quoted(joint.joint)
    yield from in_name(one.part) if kind == "welds" else ()
    if kind == "glue":
        band = one.band
    else:
        found_band = joint.bands[k + (len(joint.lives) if kind == "welds" else 0)]
        band = (found_band.shortest, found_band.longest)
    if band[0] <= 1e7:
        yield from ((miles(20000 / damage), ""), (miles(band[0]), ""), (miles(band[1]), ""))
    if kind != "welds":
        yield max(damage, 0.001), ""


@says("[0-9]+ of the [0-9]+ cases and combinations have working loads")
def working_loads(of, _found, _):
    """All of them."""
    count = len(of.rows(of.joints[0])[0])
    yield from ((count, ""), (count, ""))


@says("[0-9]+ samples of Sobol")
def samples(of, _found, _):
    """Of the analysis."""
    yield from ((of.analysis.uncertainty.samples, ""), (of.analysis.uncertainty.seed, ""))


@says("Within its 90 % range no single input changes the verdict")
def no_single_input(_of, _found, _):
    """The range sought."""
    yield 0.9, "%"


@says("‘(.*?)’, 90 % range: torque .* … .*as entered")
def uncertain_loads(of, found, _):
    """The 90 % range; as entered: the largest loads and the lowest margin."""
    yield 0.9, "%"
    one = of.analysis.uncertainty.joint(found[1])
    shown = figures(without_names(found.string))[1:]
    for k, value in enumerate((one.torque, one.bending)):
        low, high = shown[2 * k : 2 * k + 2]
        yield (
            value.low / (1.0 if low.unit else high.value / figures(f"{high.text.split()[0]}")[0].value),
            None,
        )
        yield value.high, "N·m"
    yield from ((one.margin.low, ""), (one.margin.high, ""))
    load = np.abs(of.rows(found[1])[1])
    yield from (
        (load[..., TORQUE].max(), "N·m"),
        (load[..., BENDING].max(), "N·m"),
        (of.checks(found[1], own=True)[0][0], ""),
    )


@says(".*: the chance that a margin of (one of its own parts|a part beside it) is below zero")
def chances(of, found, _):
    """With its bounds, and the chance of a load beyond capacity."""
    one = of.analysis.uncertainty.joint(of.candidate)
    whole = one.own if found[1].startswith("one of its own") else one.beside
    yield from (
        chance(whole.counted.value),
        chance(whole.counted.low),
        chance(whole.counted.high),
        (0.95, "%"),
    )
    yield chance(whole.failure.value)


@says("Scatter of the margin of ‘.*’ that goes away")
def worth_knowing(of, found, _):
    """The three inputs with the largest share of the margin's variance: the deviation without it is √(1 − share)."""
    one = of.analysis.uncertainty.joint(of.candidate)
    for effect in sorted(one.effects, key=lambda each: -each.margin.share)[:3]:
        assert effect.input.replace("_", " ") in found.string.replace("_", " ")
        yield chance(1 - math.sqrt(1 - effect.margin.share))


@says(
    "Scatter of the joint's load in racking |.*Sum of squares over scatter |Not quoted, since |Correlated by more than "
)
def taught_by_test(of, found, _):
    """What the test taught, by its own arrays."""
    test, text = of.analysis.test, found.string
    if text.startswith("Scatter"):
        for before, after in test.racking_scatter.values():
            yield from ((before, "%"), (after, "%"))
    elif text.startswith("Not quoted"):
        yield 0.2, "%"
    elif text.startswith("Correlated"):
        yield 0.5, ""
        order = [one.name for one in test.factors]
        for named in re.findall(r"([a-zA-Z ]+?) and ([a-zA-Z ]+) [+−]", text.split(": ")[1]):
            yield test.correlation[tuple(order.index(name.strip().replace(" ", "_")) for name in named)], ""
    else:
        yield from ((test.chi_square, ""), (test.degrees, ""))
        assert test.probability == pytest.approx(chi2.sf(test.chi_square, test.degrees), rel=1e-6)
        yield test.probability, "%"


# --- the boat as modelled ----------------------------------------------------------------------------------------------------


@says(
    "(Bows|Crossbeam|Stay|Striker|Martingale|Platform|Sprung): |(Hulls|The stay is attached|Stiffness is linear|Two lugs) "
)
def dimensions(of, found, _):
    """As both files give them: hulls 6 m apart, bows of 4 m, the beam 0.3 m above the bows' axes, its eye, its truss."""
    station, text, first = of.file.crossbeam.station, found.string, of.file.platform is None
    sprung = (300e3, 200e3, 500e3) if first else (400e3, 300e3, 500e3)
    plan, own = "joint to joint" in text, of.joint(of.candidate).curves["pitch"].joint_stiffness
    known = {
        "Bows": [(4.0, "m"), (6.0, "m"), (0.4, "m")], "Crossbeam": [(station, "m"), (0.3, "m"), (5.2, "m")],
        "Stay": [(FORWARD, "m"), (UP, "m")], "The stay": [(FORWARD, "m"), (UP, "m")], "Striker": [(0.7, "m"), (60e6, "N")],
        "Hulls": [(6.0, "m"), (4.0, "m"), *([(station, "m"), (5.2, "m")] if plan else [])],
        "Martingale": [(2.2, "m"), (20e6, "N"), (5e3, "N")], "Platform": [(4.0, "m")],
        "Stiffness": [(4.0 / of.file.bows.divide, "m")], "Sprung": [(value, "N·m/rad") for value in sprung],
        "Two lugs": [(0.12, "m"), (0.01, "m"), (0.012, "m"), (6, ""), (0.02, "m"), (own, "N·m/rad")],
    }  # fmt: skip
    yield from next(value for key, value in known.items() if re.match(rf"{key}[ :]", text))


@says("by forebeam |From wide.toml")
def version(_of, found, _):
    """Of the program: no number of the boat."""
    yield from ((one.value, None) for one in figures(found.string))


# --- captions ----------------------------------------------------------------------------------------------------------------


def case_of(of, name):
    """The case of a picture, by the name in its caption's beginning."""
    return next(c.name for c in of.study.cases if re.sub(r"\W+", "-", c.name).strip("-") == name)


@says("With ‘(.*?)’, movements × |Deflected shape of ‘(.*?)’, movements × ", "main-load|deflected-")
def movements_enlarged(of, found, _):
    """The stems' movements times that are what is seen; a round number that makes them so."""
    joints = [of.joint(found[1])] if found[1] else of.study.joints
    names = [case.name for case in of.study.cases]
    at = names.index(of.study.main_case.name if found[1] else found[2])
    yield deflection_scale([one.solution for one in joints], at), ""


@says("‘(.*?)’: stems move up to ", "deflected-(.*)")
def stems_move(of, found, name):
    """The larger displacement of both stems."""
    case = of.case(found[1], case_of(of, name.removeprefix("deflected-")))
    yield np.linalg.norm(case.stems[:, :3], axis=1).max(), "m"


@says("‘(.*?)’: vertical bending up to ", "crossbeam-(.*)")
def bending_along(of, found, name):
    """My anywhere along the crossbeam."""
    joint = of.joint(found[1])
    at = [case.name for case in of.study.cases].index(case_of(of, name.removeprefix("crossbeam-")))
    yield np.abs(joint.crossbeam.actions[at, :, 4]).max(), "N·m"


@says("Moment at each joint under a racking force of ", "attraction")
def racking_force(_of, _found, _):
    """3 kN as entered: on a platform the moment about the root is the same pair's."""
    yield 3e3, "N"


@says("‘(.*?)’: (torque|vertical bending) ", "attraction|^worst$")
def moment_and_capacity(of, found, name):
    """Under racking alone, or the largest over all rows; and what fails first under that moment alone."""
    joint, column = of.joint(found[1]), WORD[found[2]]
    if name == "worst":
        yield np.abs(of.rows(found[1])[1][..., column]).max(), "N·m"
    else:
        yield of.attracted(found[1], "racking", column), "N·m"
    failure = joint.joint.moment_at_failure({TORQUE: "pitch", BENDING: "roll"}[column])
    if failure:
        yield failure.moment, "N·m"


@says("‘(.*?)’: fore-and-aft bending ", "^worst$")
def yaw_and_capacity(of, found, _):
    """The same about the upright axis."""
    yield np.abs(of.rows(found[1])[1][..., YAWING]).max(), "N·m"
    yield of.joint(found[1]).joint.moment_at_failure("yaw").moment, "N·m"


@says("‘(.*?)’: hull ", "shares")
def shares(of, found, _):
    """Of the racking moment without pretension: torque is what the joint attracts, over 3 kN times 4 m; they sum to 1."""
    shares_of = of.case(found[1], "racking").shares
    torque = of.attracted(found[1], "racking", TORQUE) / (3e3 * 4.0)
    yield from ((shares_of.hull, "%"), (1 - shares_of.hull - torque, "%"), (torque, "%"))


@says("Pretension alone with ‘(.*?)’: ", "path-pretension")
def pretension_alone(of, found, _):
    """5 kN as entered; bending of the joints under it."""
    yield 5e3, "N"
    yield np.abs(of.case(found[1], "racking").pretension_joint_load[:, BENDING]).max(), "N·m"


@says("Largest at a joint: ", "path-(.*)")
def largest_at_joint(of, _found, name):
    """Of the whole load on either hull."""
    load = np.abs(of.case(of.shown.joint.name, case_of(of, name.removeprefix("path-"))).joint_load)
    yield from ((load[:, TORQUE].max(), "N·m"), (load[:, BENDING].max(), "N·m"))


@says("Under pretension alone the martingale carries ", "path-")
def under_pretension(of, _found, name):
    """Forces at the joints, moments at the roots about the beam's centre."""
    rest = of.case(of.shown.joint.name, case_of(of, name.removeprefix("path-"))).under_pretension
    joints = [
        entry for row, entry in zip(rest.path.names, rest.path.actions, strict=True) if row.endswith("joint")
    ]
    yield 5e3, "N"
    yield from (
        (np.abs([one[:3] for one in joints]).max(), "N"),
        (np.abs(rest.held.actions[:, 3:]).max(), "N·m"),
    )


@says("The width of straight arrows", "path-")
def widths(of, found, name):
    """A round force is as wide as its share of the largest component of any force in the picture, the widest there is."""
    case = of.case(of.shown.joint.name, case_of(of, name.removeprefix("path-")))
    acting = (*case.whole.applied, *case.whole.reactions, *case.joint_load)
    rods = (*case.truss.tension.values(), case.truss.strut or 0.0, case.truss.compression or 0.0)
    largest = max(*(np.abs(one[:3]).max() for one in acting), *rods)
    _, force, *of_moments = figures(found.string)
    yield from ((MAX_ARROW_WIDTH * force.value / largest, ""), (force.value, "N"))
    yield from zip((one.value for one in of_moments), ("", "N·m"), strict=True)


@says("All applied loads are drawn; ", "path-")
def small_loads(_of, _found, _):
    """Of the largest of their kind."""
    yield 0.02, "%"


@says("At the rake as entered, ", "rake")
def at_the_rake(of, found, _):
    """12° of the chord."""
    *_, torque, free = of.stay()
    yield from ((12.0, "°"), (torque, "N·m"), (abs(free), "m"))
    assert "behind" in found.string


@says("Torque of the stay about the crossbeam's axis over rake", "rake")
def rake_s_estimate(_of, _found, _):
    """The scatter of what the tension rests on."""
    yield 0.04, "%"


@says("Largest: vertical shear ", "envelope")
def envelope_along(of, _found, _):
    """Of every action anywhere along the crossbeam, over all rows, with the stiffest joint."""
    one = next(
        one
        for one in of.analysis.case_rows
        if one.joint is of.shown.joint or one.joint.name == of.shown.joint.name
    )
    size = np.abs(one.values.crossbeam).max(axis=(0, 1))
    for column, unit in ((2, "N"), (4, "N·m"), (1, "N"), (5, "N·m"), (3, "N·m"), (0, "N")):
        yield size[column], unit


@says("Highest: ", "fitting-")
def fitting(of, _found, _):
    """Factor × load over capacity: 1/(1 + margin)."""
    margin = of.checks(of.candidate, own=True)[0][0]
    yield from ((1 / (1 + margin), ""), (margin, ""))


@says(".*, margin [−0-9.]+( → |, at best )", "sizes-")
def size_tried(of, found, _):
    """The first step's margin, and that of the size taken, or the best."""
    (action,) = [one for one in of.analysis.decision.actions if one.kind == "raise sizes"]
    (sizing,) = [
        one
        for one in action.tried
        if found.string.lower().startswith(one.design_variable.lower()) and one.check in found.string
    ]
    margins = [step.margin for step in sizing.steps]
    best = int(np.argmax(margins)) if sizing.chosen is None else sizing.chosen
    taken = sizing.steps[best].size if sizing.chosen is not None else ""
    part = re.sub("^(port|starboard) ", "", sizing.part)
    text = f"{sizing.design_variable} {taken}: {part}, {sizing.check}"
    yield from ((one.value, one.unit) for one in figures(text))
    yield from ((margins[0], ""), (margins[best], ""))


@says("([A-Z].*?) from .* to .*: margin ", "tornado-")
def tornado(of, found, _):
    """One of the first three inputs: where it begins and ends, and the margins there."""
    effects = of.analysis.uncertainty.joint(of.candidate).effects[:3]
    (effect,) = [one for one in effects if one.input.replace("_", " ").lower() == found[1].lower()]
    yield from ((one.value, one.unit) for text in (effect.below, effect.above) for one in figures(text))
    yield from ((effect.margin.low, ""), (effect.margin.high, ""))


@says("‘waves’: the largest torque of the wave alone|‘(.*?)’: up to ", "waves-over-heading")
def over_heading(of, found, _):
    """The largest torque over headings and where it is; 0° is a constant."""
    if not found[1]:
        yield 0.0, "°"
        return
    (scan,) = of.analysis.wave_scans
    torque = next(one for one in scan.joints if one.joint == found[1]).over_heading[:, TORQUE]
    yield from ((torque.max(), "N·m"), (math.degrees(scan.heading[torque.argmax()]), "°"))


@says("‘waves’: the wave of most torque, ", "^wave-")
def worst_wave(of, _found, _):
    """Length and height, and the least and the most of the load along the hulls."""
    scan, state = wave_of_most_torque(of)
    yield from ((state.length, "m"), (state.height, "m"), (math.degrees(state.heading), "°"))
    yield from ((scan.load.min(), "N/m"), (scan.load.max(), "N/m"))


# --- the walk ----------------------------------------------------------------------------------------------------------------


@says("‘(.*?)’ in the case ‘(.*?)’: movements × ", "space-")
def in_space(of, found, _):
    """Colour: bending about both axes, anywhere on the frame with this joint."""
    at = [case.name for case in of.study.cases].index(found[2])
    solution = of.joint(found[1]).solution
    yield deflection_scale([one.solution for one in of.study.joints], at), ""
    ends = end_forces(solution)[at]
    yield np.hypot(ends[..., 4], ends[..., 5]).max(), "N·m"


HELD = {
    "figures/attraction_figure.py", "figures/boat_figures.py", "figures/boat_plan_figure.py", "figures/fitting_figure.py",
    "figures/load_path_figure.py", "figures/main_load_figure.py", "figures/shares_figure.py", "figures/tornado_figure.py",
    "figures/wave_figures.py", "figures/worst_figure.py", "sections/combinations_section.py", "sections/rig_section.py",
}  # fmt: skip
"""Modules whose captions are compared here."""
ELSEWHERE = {
    "figures/sizes_figure.py": "tests/cases/report/test_sizes_figure.py",
    "figures/convergence_figure.py": "no figure in words", "figures/sweep_figures.py": "tests/cases/report/test_sweep_figures.py",
    "figures/section_figures.py": "tests/cases/report/test_stressed_figure.py",
    "figures/stressed_figure.py": "tests/cases/report/test_stressed_figure.py",
}  # fmt: skip


def test_every_picture_s_caption_is_held():
    """By its text: a module that makes a picture for the report is compared here, or named with its test."""
    making = set()
    for path in (ROOT / "cases/report").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Drawing":
                making.add(path.relative_to(ROOT / "cases/report").as_posix())
    assert making == HELD | set(ELSEWHERE)


@cache
def drawn(boat):
    """Every picture of a boat's report as its words alone, and the whole page with them."""
    analysis = BOATS[boat]()
    pictures = [_words_of(job()) for job in report_figures.picture_jobs(analysis)]
    parts = [
        replace(part, pictures=[_words_of(job()) for job in part.drawings]) for part in all_sections(analysis)
    ]
    solids = [
        Picture(f"space-{number}", "in space", output._caption(analysis.study, *wanted), svg="", png=b"solid")
        for number, wanted in enumerate(output._wanted(analysis.study))
    ]
    page = report_page.render(analysis, pictures, solids, list(analysis.remarks), parts)
    return [*pictures, *solids, *(one for part in parts for one in part.pictures)], page


def _words_of(drawing):
    return Picture(drawing.name, drawing.title, drawing.words, svg="<svg></svg>", png=b"")


def wrong_in(told, text, picture=""):
    """What does not agree in a text, sentence by sentence."""
    for before, sentence in sentences(text):
        shown = figures(without_names(sentence))
        if not shown or is_constant(sentence):
            continue
        known = (
            (entry, found)
            for pattern, pictures, entry in SAYS
            if pictures.search(picture) and (found := pattern.match(sentence))
        )
        entry, found = next(known, (None, None))
        if entry is None:
            yield f"no entry for “{sentence}” {picture}"
            continue
        expected = list(entry(told, found, picture or before))
        values = [one for one in expected if isinstance(one, tuple)]
        if not agree(shown, values):
            yield f"“{sentence}” {picture}: {[one.text for one in shown]} for {values}"
        yield from (
            f"“{sentence}”: {one} is not in it"
            for one in expected
            if isinstance(one, str) and one not in sentence
        )


def agree(shown, values):
    """Whether figures are those values, in order."""
    return len(shown) == len(values) and all(
        one.shows(*value) for one, value in zip(shown, values, strict=True)
    )


@pytest.mark.parametrize("boat", BOATS)
def test_every_figure_of_the_page_s_sentences_is_the_analysis_s(boat):
    """In every block of the page outside tables; captions stand there as the pictures have them."""
    pictures, page = drawn(boat)
    told, captions = Told(BOATS[boat]()), {" ".join(one.words.split()) for one in pictures}
    wrong = []
    for tag, text in blocks(page):
        if tag in {"figcaption", "alt"}:
            assert text in captions
        else:
            wrong += wrong_in(told, text)
    assert list(dict.fromkeys(wrong)) == []


CARD = {
    "weakest in the joint": lambda of, name: [(of.checks(name, own=True)[0][0], "")],
    "weakest beside it": lambda of, name: [(of.checks(name, own=False)[0][0], "")],
    "shortest fatigue life": lambda of, name: [
        one for one in life(of, name) if of.analysis.decision.candidates[0].life.lasts is False or one[0] == 20000
    ],
    "design torque": lambda of, name: [(np.abs(of.rows(name)[1][..., TORQUE]).max(), "N·m")],
    "design vertical bending": lambda of, name: [(np.abs(of.rows(name)[1][..., BENDING]).max(), "N·m")],
    "racking stiffness gained": lambda of, name: [
        (of.joint(name).racking_stiffness / of.study.bare_racking_stiffness - 1, "%"),
        (of.study.bare_racking_stiffness / 1e3, ""), (of.joint(name).racking_stiffness, "N/m"),
    ],
    "chance that it fails": lambda of, name: [
        chance(of.analysis.uncertainty.joint(name).own.failure.value),
        chance(of.analysis.uncertainty.joint(name).own.counted.value), (0, ""),
    ],
    "mass of both fittings": lambda of, name: [(2e3 * sum(of.joint(name).joint.masses().values()), "g")],
    "verdict changes at": lambda of, _: [
        one
        for flip in of.analysis.decision.candidates[0].flips
        for one in ([(0, ""), (4, "")] if flip.factor is None else [(flip.factor, "")])
    ],
    "checks not made": lambda of, name: [
        (len({(re.sub("^(port|starboard) ", "", one.part), one.check) for one in not_made(of, name)}), "")
    ],
}  # fmt: skip
"""Line of the card → figures of it and its detail, in order; a life that outlasts the service shows the service alone."""


def not_made(of, name):
    """Checks of a joint's own parts that lack their data."""
    (margins,) = [one for one in of.analysis.part_margins if one.joint == name]
    return [one for one in margins.own if one.kind != "checked"]


@pytest.mark.parametrize("boat", BOATS)
def test_every_figure_of_the_decision_card_is_the_analysis_s(boat):
    """Line by line; names of parts, checks and rows are words. A line without an entry that has a figure is red."""
    of = Told(BOATS[boat]())
    made = card(of.analysis, None)
    (candidate,) = made.candidates
    assert len(made.rows) >= 8
    for line in made.rows:
        ((figure, detail),) = line.cells
        if line.label in {"weakest in the joint", "weakest beside it"}:
            assert detail == worst_words(of, candidate.name, own=line.label == "weakest in the joint")
        elif line.label in {"design torque", "design vertical bending"}:
            column = WORD[line.label.removeprefix("design ")]
            names, load = of.rows(candidate.name)
            size = np.abs(load[..., column]).max(axis=1)
            assert detail in {
                name for name, one in zip(names, size, strict=True) if one >= size.max() * (1 - 1e-9)
            }
        elif line.label == "shortest fatigue life":
            figure += f" {detail.partition('; first:')[0]}" if "first:" in detail else ""
        else:
            figure = f"{figure} {detail}"
        assert agree(figures(figure), list(CARD[line.label](of, candidate.name))), (
            line,
            CARD[line.label](of, candidate.name),
        )


def worst_words(of, name, *, own):
    """Part and check of the lowest margin, on whichever side."""
    _, part, check, *_ = of.checks(name, own=own)[0]
    return f"{re.sub('^(port|starboard) ', '', part)}: {check}"


def test_the_verdict_changes_where_the_lowest_margin_is_none():
    """Loads that all grow alike in first order: margin + 1 is in inverse proportion to them, so the factor is 1 + margin."""
    of = Told(BOATS["first"]())
    (flip,) = [one for one in of.analysis.decision.candidates[0].flips if one.varied == "all loads"]
    assert flip.factor == pytest.approx(1 + of.checks(of.candidate, own=True)[0][0], rel=0.02)


@pytest.mark.parametrize("boat", BOATS)
def test_every_figure_of_the_captions_is_the_analysis_s(boat):
    """Caption by caption, each known by its picture's name."""
    told = Told(BOATS[boat]())
    assert [text for one in drawn(boat)[0] for text in wrong_in(told, one.words, one.name)] == []
