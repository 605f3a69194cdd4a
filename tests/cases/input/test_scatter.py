"""What of a boat scatters: by key behind the value, by [scatter], as a mark of an estimate, by default."""

import re
import tomllib

import numpy as np
import pytest
from scipy.stats import norm

from cases.input.boat_file import BoatFile
from cases.input.input_kinds import INPUT_KINDS
from cases.input.scatter import cases_of_their_own, scattered_inputs
from cases.input.variants import Variant, apply_variant
from femcore.base.errors import InputFaults
from femcore.base.spread import read_spread
from femcore.base.toml import checked
from tests.cases.report.report_boat import TEXT
from tests.models.boats import FILES, example_boat

RAW = tomllib.loads(TEXT)
KNOWN = {"length": "11 m", "beam": "7 m", "displacement": "6 t", "rig_height": "15 m"}


def boat(scatter=None, **values):
    """A small boat with some keys set, and that [scatter]."""
    raw = apply_variant(RAW, Variant(name="changed", set=values)) if values else RAW
    return checked(raw | ({} if scatter is None else {"scatter": scatter}), BoatFile, "boat.toml")


def inputs(*args, **values):
    """By name."""
    return {one.name: one for one in scattered_inputs(boat(*args, **values))}


def faults(scatter=None, **values):
    """In sentences."""
    with pytest.raises(InputFaults) as trouble:
        boat(scatter, **values)
    return [str(one) for one in trouble.value.faults]


def test_without_a_word_every_kind_scatters_as_the_table_says():
    """Each kind that the boat has is there with its default, its median 1, and a reason."""
    found = inputs()
    assert {"racking", "stay_tension", "hull_EI", "crossbeam_GJ", "stay.forward"} <= set(found)
    assert "longeron_EI" not in found
    assert [name for name in found if name.startswith("joint_stiffness")] == [
        f"joint_stiffness ({boat().joints[1].name})"
    ]
    kinds = {kind.name: kind for kind in INPUT_KINDS}
    for one in found.values():
        assert one.basis == "default"
        assert one.reason
        if one.group != "key":
            assert one.scatter in [kind.spread for kind in INPUT_KINDS if kind.name == one.key]
            assert one.nominal == 1.0
            assert one.what == kinds[one.key].what


def test_scatter_behind_a_value_is_kept_beside_it_and_changes_nothing_else():
    """The boat is the same to the last digit; the input has the key, value and unit of the file."""
    plain, scattered = boat(), boat(crossbeam={"height": "1.1 m ± 20 mm"})
    assert scattered.crossbeam == plain.crossbeam
    [one] = [one for one in scattered_inputs(scattered) if one.key == "crossbeam.height"]
    assert (one.nominal, one.unit, one.basis) == (1.1, "m", "entered")
    assert one.distribution.std() == pytest.approx(0.02)
    assert one.text_at(1.12) == "1.12 m"


def test_a_share_is_of_all_components_and_text_of_people_is_no_quantity():
    """A vector is scaled as one; a note that reads like a scatter is none."""
    case = {CASE: {"note": "10 kN ± 15 %", "also": [{"place": "port stem", "force": "0 1 2 kN ± 10 %"}]}}
    [one] = [one for one in inputs(cases=case).values() if one.basis == "entered"]
    assert one.key == f'cases."{CASE}".also.1.force'
    assert one.text_at(2.0) == "0 2 4 kN"
    assert cases_of_their_own((one,)) == {CASE}


CASE = "=1+1"


def test_the_table_of_scatter_overrides_kinds_and_names_keys_with_dots_or_nested():
    """A kind by its name; a key in quotes and as nested tables are the same; reason and cause as given."""
    entry = {"spread": "± 10 mm", "reason": "not fair", "cause": "deck"}
    found = inputs({"racking": "± 30 %", "crossbeam.height": entry, "stay": {"up": "± 9 mm"}})
    assert (found["racking"].scatter, found["racking"].basis) == ("± 30 %", "entered")
    assert (found["crossbeam.height"].cause, found["crossbeam.height"].reason) == ("deck", "not fair")
    assert found["stay.up"].distribution.std() == pytest.approx(9.0)
    assert found["stay.forward"].basis == "default"


def test_no_scatter_leaves_an_input_out():
    """± 0 % and × 1 are exact values."""
    assert "racking" in inputs()
    assert not {"racking", "metal"} & set(inputs({"racking": "± 0 %", "metal": "× 1"}))


def test_plies_of_one_laminate_are_one_cause():
    """Computed hulls and tubes: bending and torsion of the crossbeam share one variable; entered ones do not."""
    demo = {one.name: one.cause for one in scattered_inputs(example_boat("demo"))}
    assert demo["crossbeam_EI"] == demo["crossbeam_GJ"] == "plies of the crossbeam"
    assert demo["hull_EI"] == "plies of the hulls"
    plain = inputs()
    assert plain["crossbeam_EI"].cause != plain["crossbeam_GJ"].cause


def test_members_of_a_platform_vary_on_their_own_less_as_built_than_typed():
    """Their differences are what moves the twist centre: ± 0.2 of 5 m each by 20 % is 0.35 m, as the recipe's scatter."""
    demo = [one for one in scattered_inputs(example_boat("demo")) if one.key == "platform_EI"]
    typed = [one for one in scattered_inputs(example_boat("new_boat")) if one.key == "platform_EI"]
    assert [one.part for one in demo] == ["main bulkhead", "cockpit bulkhead"]
    assert {one.scatter for one in demo} == {"± 20 %"}
    assert {one.scatter for one in typed} == {"± 60 %"}
    drawn = np.random.default_rng(1).lognormal(0, 0.198, (20_000, 2))
    assert (-5 * drawn[:, 1] / drawn.sum(axis=1)).std() == pytest.approx(0.35, abs=0.01)


def test_marks_of_estimates_are_scatter():
    """A key that [boat] marks has that scatter, and a table that it marks gives it to the kinds that stand for it."""
    table = KNOWN | {"estimated": ["crossbeam.station ± 8 %", "bows.stations × 2", "stay.up ± 20 mm"]}
    raw = RAW | {"boat": table}
    found = {one.name: one for one in scattered_inputs(checked(raw, BoatFile, "boat.toml"))}
    assert found["crossbeam.station"].basis == "estimated"
    assert found["stay.up"].distribution.std() == pytest.approx(20.0)
    assert (found["hull_EI"].scatter, found["hull_GJ"].basis) == ("× 2", "estimated")


@pytest.mark.parametrize(
    ("scatter", "words"),
    [
        ({"rackng": "± 30 %"}, "did you mean 'racking'"),
        ({"crossbeam.heigth": "± 5 mm"}, "did you mean 'height'"),
        ({"racking": "± -5 %"}, "is negative"),
        ({"racking": "± 400 %"}, "more than a lognormal takes"),
        ({"racking": "± 5 kN"}, "no scatter of a factor"),
        ({"racking": 0.3}, "is no text"),
        ({"racking": {"spread": "± 5 %", "couse": "x"}}, "did you mean 'cause'"),
        ({"stay.up": "± 5 kN"}, "does not fit '120 mm'"),
        ({"stay.up": "140 … 100 mm"}, "does not rise"),
        ({"title": "± 5 %"}, "is no single quantity"),
        ({"bows": {"stations": "± 5 %"}}, "is no single quantity"),
        ({'cases."=1+1".also.1.force': "± 1 kN"}, "is not of a vector"),
    ],
)
def test_an_impossible_scatter_is_a_fault_with_file_key_and_cure(scatter, words):
    """One sentence each."""
    [sentence] = faults(scatter)
    assert sentence.startswith("boat.toml: scatter: '")
    assert words in sentence


def test_scatter_that_does_not_fit_its_value_or_is_given_twice_is_a_fault():
    """Behind the value: of another kind of quantity, a share of nothing; and in the table as well."""
    assert "does not fit '1.1 m ± 5 kN'" in faults(crossbeam={"height": "1.1 m ± 5 kN"})[0]
    assert "a share of nothing" in faults(stay={"forward": "0 mm ± 5 %"})[0]
    twice = faults({"stay.up": "± 5 mm"}, stay={"up": "120 mm ± 4 mm"})
    assert "behind its value too" in twice[0]
    assert "is negative" in faults(stay={"up": "120 mm ± -4 mm"})[0]


def test_a_variant_without_a_part_has_no_scatter_of_it():
    """Leaving the stay's place out leaves its scatter out; the rest stays."""
    file = boat({"stay.up": "± 9 mm", "racking": "± 30 %"})
    made = file.variant(Variant(name="no stay", without=["stay"]))
    found = {one.name: one for one in scattered_inputs(made)}
    assert "stay.up" not in found
    assert found["racking"].scatter == "± 30 %"


def test_the_template_lists_every_kind_with_its_default_and_all_of_it_is_read():
    """Each kind's line holds the defaults of its rows; uncommented, they are a sound [scatter]."""
    template = FILES["new_boat"].read_text(encoding="utf-8")
    lines = {
        found[1]: line
        for line in template[
            template.index("# [scatter]") : template.index("# ---- Cases to run")
        ].splitlines()
        if (found := re.match(r"# (\w+) = ", line))
    }
    for kind in INPUT_KINDS:
        assert kind.spread in lines[kind.name], kind.name
    for name in {kind.name for kind in INPUT_KINDS}:
        read_spread(tomllib.loads(lines[name].removeprefix("# "))[name])


@pytest.mark.parametrize(
    "spread", ["± 50 %", "normal 10 %", "× 2", "0.7 … 1.2", "weibull 2", "gumbel 30 %", "lognormal 20 %"]
)
def test_a_normal_cause_gives_the_input_of_the_same_chance(spread):
    """x(u) = F⁻¹(Φ(u)); eight standard deviations out it is finite still."""
    one = inputs({"racking": spread})["racking"]
    u = np.array([-3.0, -1.0, 0.0, 0.5, 3.0])
    assert one.at_normal(u) == pytest.approx(one.distribution.ppf(norm.cdf(u)), rel=1e-9)
    assert np.isfinite(one.at_normal(np.array([-8.0, 8.0]))).all()
