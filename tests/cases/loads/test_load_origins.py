"""Where loads come from, told with them: source and standing, formula with this boat's numbers, range, and whether it holds."""

import csv
import io
import re

import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.study import run_study
from cases.input.combinations import expanded_combinations, expanded_names
from cases.loads import LOAD_CASES
from cases.loads.connecting import SHORT, TITLES
from cases.report.data.results import results
from cases.report.sections.loads_section import loads_section
from cases.report.sections.rig_section import rig_section
from femcore.base.toml import checked
from tests.cases.boats.test_boats import under
from tests.cases.loads.load_kinds import boat, boat_for, case
from tests.cases.loads.test_case_switches import KINDS
from tests.models.boats import example_boat

STANDING = re.compile(r"read|from memory|entered|common practice|statics|theory")
CRAFT = {"displacement": "9 t", "length": "12 m", "acceleration": "10 m/s**2"}


@pytest.mark.parametrize("kind", LOAD_CASES)
def test_every_kind_says_where_its_loads_come_from(kind):
    """A source that says how it stands; where a range is stated, whether this boat is inside it."""
    for one in case(kind, **KINDS[kind]).expand(boat_for(kind, prod=1.2)):
        origin = one.origin()
        assert STANDING.search(origin.source), origin.source
        assert (origin.inside is None) == (origin.validity == "")
        assert "*" not in origin.formula + one.words(), "units as a person writes them"


def by_name(rule, **keys):
    """The cases of a rule on the plain boat, 6 m wide with bows of 4 m, by what follows the case's name."""
    cases = case("connecting", rule=rule, **CRAFT | keys).expand(boat())
    return {one.name.removeprefix("one, "): one for one in cases}


def test_a_rules_moment_is_told_with_its_symbols_and_numbers():
    """DNV: M_S = 9 t × 10 m/s² × 6 m/4 = 135 kN·m, of which the bows' third of the length takes 45 kN·m (by hand)."""
    bending = by_name("dnv-hslc")["transverse bending"]
    assert bending.words() == (
        "DNV high-speed craft rules: transverse bending moment 135 kN·m, as ±45 kN·m of roll on the hulls at the crossbeam, "
        "keels apart"
    )
    origin = bending.origin()
    assert origin.formula == (
        "M_S = Δ a b/s = 9 t × 10 m/s² × 6 m/4 = 135 kN·m, s for R0; × 0.333 of it ahead of the root = ±45 kN·m of roll on the "
        "hulls at the crossbeam, keels apart"
    )
    reverse = by_name("dnv-hslc")["reversed transverse bending"]
    assert reverse.origin().formula == origin.formula.replace("apart", "together")
    assert "Pt.3 Ch.1 Sec.3 B200–B400: s, q and shear read, the moments from memory" in origin.source
    assert "powered craft" in origin.validity
    assert "L < 50 m, here 12 m" in origin.validity
    assert origin.inside is False


@pytest.mark.parametrize(
    ("rule", "symbols", "pitch", "force"),
    [
        ("dnv-hslc", "M_P = Δ a L/8 = 9 t × 9.81 m/s² × 12 m/8", "132 kN·m", "22.1 kN"),
        ("abs-hsc", "M_tt = 1.25 Δ L (1 + n) = 1.25 × 9 t × 12 m × (1 + 1.02)", "273 kN·m", "45.4 kN"),
        ("bv-hsc", "M_tt = 0.125 Δ L a g = 0.125 × 9 t × 1 × 9.81 m/s² × 12 m", "132 kN·m", "22.1 kN"),
    ],
)
def test_the_pitch_moment_becomes_forces_at_the_stems(rule, symbols, pitch, force):
    """The moment over the lever of 6 m, with its unit; the rule by the name that it is known by."""
    one = by_name(rule)["pitch connecting"]
    cap = "" if rule == "abs-hsc" else ", a of 10 m/s² taken as 1 g (from memory)"
    assert one.origin().formula == f"{symbols} = {pitch}{cap}; /6 m of lever = ±{force} at the stems"
    assert one.words() == f"{SHORT[rule]}: pitch connecting moment {pitch}, as ±{force} at the stems"
    assert TITLES[rule] in one.origin().validity


def test_the_rules_combinations_tell_both_parts():
    """70 % of the one with all of the other, each with its own formula, and the load that comes of 70 %."""
    both = by_name("dnv-hslc")["transverse bending + 70% pitch connecting"]
    assert both.words().endswith("and 70 % of pitch connecting moment 132 kN·m, as ±15.5 kN at the stems")
    assert "; 70 % of M_P = Δ a L/8" in both.origin().formula


def test_an_acceleration_that_follows_from_speed_is_told():
    """The rule's formula and its least value stand before the moment."""
    keys = {"speed": "7 kn", "acceleration": None}
    given = {key: value for key, value in (CRAFT | keys).items() if value is not None}
    one = case("connecting", rule="dnv-hslc", **given).expand(boat())[0]
    assert one.origin().formula.startswith(
        "a = (V/√L)(3.2/L^0.76) g₀, at least 1 g₀ (Sec.2 B201, read) = 9.81 m/s²; M_S"
    )


def test_the_diving_rule_is_told_with_its_numbers():
    """F′ = 62.6 kN for 10 t, d = 2.5 m, L_WL = 12 m; what was not found is said, and a length of one's own is outside."""
    (dive,) = case("deck diving", displacement="10 t", waterline="12 m", fore_end="2.5 m").expand(boat())
    origin = dive.origin()
    assert (
        "1.8 × 9.807 × 10 t × 2.5 m × sin 10°/(0.793 + 0.43 m) = 62.6 kN; F″ = F′ cos 80° = 10.9 kN"
        in origin.formula
    )
    assert "Pt B, Ch 6, Sec 3, [3] (read)" in origin.source
    assert "which way F″ acts" in origin.source
    assert origin.inside is False
    assert dive.words().endswith("62.6 kN up, 10.9 kN aft, over 2.5 m, greatest at the stem")
    (ruled,) = case("deck diving", displacement="10 t", waterline="12 m").expand(boat())
    assert ruled.origin().inside is True


@pytest.mark.parametrize(("sag", "inside"), [("0.2 m", True), ("0.6 m", False)])
def test_a_deep_net_is_outside_small_slopes(sag, inside):
    """An eighth of the shorter side, here 2.6 m, is the range of the membrane; beyond it the case says so."""
    (net,) = case("net", people=6, sag=sag, begin="0.4 m").expand(boat())
    assert net.origin().inside is inside
    assert "p = n m g φ/A = 6 × 85 kg × 9.81 m/s² × 2/13 m² = 769 Pa; N = 0.1" in net.origin().formula


def study_of(*cases, name="short_bowed"):
    """A house boat under cases as a file gives them, with a rigid joint."""
    raw = example_boat(name).raw | {"cases": list(cases), "joints": [{"name": "rigid", "kind": "rigid"}]}
    return run_study(checked(raw, type(example_boat(name)), "mine.toml"))


SEA = {"name": "sea", "kind": "racking", "force": "4 kN", "scale": 1.5}
RULES = {"name": "fast", "kind": "connecting", "rule": "abs-hsc", **CRAFT}
OFF = {"name": "gust", "kind": "rig", "tension": "40 kN", "rake": "14 deg", "on": False}
STAY = {
    "name": "stay",
    "kind": "rig",
    "tension": "40 kN",
    "rake": "14 deg",
    "length": "15 m",
    "aft_load": "200 N/m",
}


def test_the_report_and_the_results_tell_it():
    """A row for each case as it is run with kind, words, formula, source and range, the results alike; what is off is named."""
    study = study_of(SEA, RULES, OFF, STAY)
    part = loads_section(study, Analysis(study))
    assert part.words == [
        "Switched off in the file and not run: ‘gust’.",
        (
            "18 of the 18 cases and combinations have working loads, met again and again or that may be exceeded: their checks "
            "take the safety factors in full."
        ),
        "This boat is outside the range of validity of the source for: ‘fast’.",
    ]
    rows = list(csv.DictReader(io.StringIO(part.unshown[0].csv())))
    heads = results(Analysis(study)).cases
    assert [row["case"] for row in rows] == [head.name for head in heads] == [
        "sea", "fast, transverse bending", "fast, reversed transverse bending", "fast, pitch connecting",
        "fast, pitch connecting along the hulls", "stay",
    ]  # fmt: skip
    for row, head, one in zip(rows, heads, study.cases, strict=True):
        origin = one.origin()
        assert (row["kind"], row["what is applied"]) == (head.kind, head.words) == (one.kind, one.words())
        assert (head.source, head.formula, head.validity, head.inside) == (
            origin.source, origin.formula, origin.validity, origin.inside,
        )  # fmt: skip
        assert row["source and its standing"] == origin.source
        assert row["this boat"] == {True: "inside", False: "outside", None: "–"}[origin.inside]
    assert [head.scale for head in heads] == [1.5, 1.0, 1.0, 1.0, 1.0, 1.0]
    assert heads[0].words.endswith("; all of it times 1.5")
    assert {head.level for head in heads} == {"working"} == {row["level"] for row in rows}
    assert [row[3].text for row in part.readable[0].shown().rows] == [head.name for head in heads]


def test_the_results_tell_the_stay_over_sag():
    """At each sag the line at the foot: rake + atan 4 s/L, side pull 4 T s/L; the case's own among them, once."""
    study = study_of(SEA, STAY)
    found = results(Analysis(study))
    rows = found.stay_over_sag["stay"]
    assert [row.own for row in rows].count(True) == 1
    own = next(row for row in rows if row.own)
    assert own.sag_aft == pytest.approx(200 * 15 / (8 * 40e3), rel=1e-12)
    assert own.load == pytest.approx(200 * 15, rel=1e-12)
    line = found.stay_lines["stay"]
    assert (own.up, own.aft, own.torque) == pytest.approx((line.up, line.aft, line.torque), rel=1e-12)
    for row in rows:
        assert row.side == pytest.approx(4 * 40e3 * row.sag_side, abs=1e-9)
    part = rig_section(study, Analysis(study))
    table = next(one for one in part.tables if one.name == "stay_over_sag")
    assert len(table.rows) == len(rows)
    assert [row[-1] for row in table.rows].count("as entered") == 1
    assert any("aft with 1.50 kN, square to the chord" in sentence for sentence in part.words)
    assert any("With a sag aft of 2 % of the span" in sentence for sentence in part.words)


def test_a_method_left_out_of_the_estimates_is_told_in_the_report():
    """The report says which method gives no pull, and holds no ratio to nothing."""
    estimate = {
        "displacement": "9 t", "hoist": "15 m", "freeboard": "1 m", "stay_foot": "4 m", "mainsheet": "0 kN",
        "sheet_aft": "1 m", "shrouds_aft": "0 m",
    }  # fmt: skip
    study = study_of(SEA, {"name": "stay", "kind": "rig", "rake": "14 deg", "estimate": estimate})
    part = rig_section(study, Analysis(study))
    assert any(
        "one method, nordic standard (mast statics gives no pull and is left out)" in s for s in part.words
    )


def test_combinations_of_a_house_boat_name_each_case_once():
    """On a boat with all kinds live, every name in the default combinations is a case as it is run."""
    file = example_boat("short_bowed")
    names = {one.name for one in file.load_cases}
    assert all(set(one.factors) <= names for one in file.expanded_combinations)
    members = expanded_names((one, one.expand(file)) for one in file.active_cases)
    assert all(members[name] == [name] for name in names)
    assert expanded_combinations([], members) == []


def test_every_case_of_the_template_tells_its_source():
    """What a newcomer switches on comes with its source in the report."""
    for one in example_boat("new_boat").raw["cases"]:
        for made in under("new_boat", one | {"on": True}).load_cases:
            assert STANDING.search(made.origin().source)
