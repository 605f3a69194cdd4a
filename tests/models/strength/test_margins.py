"""Margins, envelopes and factors."""

from dataclasses import replace

import numpy as np
import pytest
from pydantic import ValidationError

from models.strength.margins import (
    NO_FACTOR,
    SERVICEABILITY,
    SafetyFactor,
    SafetyFactors,
    case_by_case,
    checked,
    envelope,
    failure_load_factor,
    governing_check,
    not_checked,
    overall_outcome,
    unchecked,
    with_extreme_loads,
)

TWO = SafetyFactor(2.0, "ultimate")


def a_check(load, allowable=100.0, part="lug", check="root", factor=TWO):
    """A check with the least said."""
    return checked(part, check, load, allowable, "N", factor, "theory")


def test_margin_is_allowable_over_factored_load_less_one():
    """The margin is allowable/(factor × load) − 1 in every case, the sign of the load dropped."""
    np.testing.assert_allclose(a_check([10.0, -50.0, 100.0]).margin, [4.0, 0.0, -0.5])


def test_growth_takes_no_factor():
    """Growth is the load's own multiple at the limit, whatever the factor."""
    np.testing.assert_allclose(a_check([10.0, -50.0]).load_factor, [10.0, 2.0])


def test_no_load_leaves_an_endless_margin():
    """Without load the margin is infinite, and no warning is given."""
    assert np.isposinf(a_check([0.0]).margin).all()


def test_envelope_keeps_the_worst_case_and_puts_the_governing_first():
    """Of every part and check the worst case stands, with its case, in order of margin."""
    rows = envelope([a_check([10, 20]), a_check([60, 5], part="bolt"), a_check([1, 30])])
    assert [(row.part, row.case) for row in rows] == [("bolt", 0), ("lug", 1)]
    assert rows[0].margin == pytest.approx(100 / 120 - 1)
    assert rows[1].load == 30.0
    assert rows[0].factor == TWO


def test_what_is_not_checked_never_passes():
    """A check that lacks its data is listed with its reason, and the overall_outcome is not known."""
    lacking = not_checked("glue", "peel", 2, "no peel strength is given")
    checks = [lacking, a_check([1.0, 2.0])]
    assert envelope(checks)[-1].reason == "no peel strength is given"
    assert np.isnan(lacking.margin).all()
    assert overall_outcome(checks) == "not known"
    assert unchecked(checks) == (lacking,)
    assert governing_check(checks).part == "lug"
    assert governing_check([lacking]) is None
    assert overall_outcome([lacking]) == overall_outcome([]) == "not known"


def test_what_fails_fails_whatever_is_not_known():
    """A margin below zero fails although something else was not checked."""
    assert overall_outcome([not_checked("glue", "peel", 1, "why"), a_check([60.0])]) == "fails"
    assert overall_outcome([a_check([50.0])]) == "holds"


def test_an_unloaded_check_governs_before_what_is_not_checked():
    """An endless margin is still a checked one and comes before the entries that are not."""
    rows = envelope([not_checked("glue", "peel", 1, "why"), a_check([0.0])])
    assert [row.kind for row in rows] == ["checked", "not checked"]


def test_first_failure_is_the_least_growth_of_each_case():
    """All loads may grow by the least growth of all checks; its part is named case by case."""
    load_factor, names = failure_load_factor(
        [a_check([10, 1, 0]), a_check([5, 4, 0], part="bolt", check="shear")]
    )
    np.testing.assert_allclose(load_factor, [10, 25, np.inf])
    assert names == ("lug: root", "bolt: shear", "nothing")


@pytest.mark.parametrize(
    ("load", "allowable"), [([np.nan], 1.0), ([1.0], 0.0), ([1.0], -5.0), ([1.0], np.nan)]
)
def test_a_check_refuses_nonsense(load, allowable):
    """A load that is no number, or an allowable value not above zero, is an error, never a margin."""
    with pytest.raises(ValueError, match="lug, root"):
        a_check(load, allowable)


def test_factors_have_their_reasons():
    """Every factor has a default of at least 1 and says why; the line's fraction is its reciprocal."""
    factors = SafetyFactors()
    for name, field in SafetyFactors.model_fields.items():
        assert field.description, name
        value = getattr(factors, name)
        if name == "criterion":
            assert value == "tsai_wu"
            continue
        assert (0 < value <= 1) if name == "line_fraction" else value >= 1
    assert factors.safety_factor("line") == SafetyFactor(2.5, "line")
    assert factors.safety_factor("bond").name == "bond"
    assert NO_FACTOR.value == 1.0


@pytest.mark.parametrize(
    "wrong", [{"bond": 0.5}, {"line_fraction": 1.2}, {"bonds": 3.0}, {"ultimate": 50}, {"criterion": "hill"}]
)
def test_factors_refuse_what_is_unsafe_or_unknown(wrong):
    """A factor below 1, a fraction above 1, a key that is not known and an absurd value are refused."""
    with pytest.raises(ValidationError):
        SafetyFactors.model_validate(wrong)


# the first is a fraction of what breaks a line, the second a factor in place of another
OTHERS = {"line_fraction", "breaking"}


@pytest.mark.parametrize(
    "name", [n for n, f in SafetyFactors.model_fields.items() if f.annotation is float and n not in OTHERS]
)
def test_a_factor_is_used_as_it_is_entered(name):
    """Every factor from 1 up enters the margin as it is, also one below the 1.5 on loads: nothing raises it unseen."""
    for value in (1.0, 1.2, 1.4999, 7.0):
        factor = SafetyFactors.model_validate({name: value}).safety_factor(name)
        assert factor == SafetyFactor(value, name)
        assert a_check([10.0], 60.0, factor=factor).margin == pytest.approx([6 / value - 1], rel=1e-12)


def test_at_the_breaking_load_a_factor_is_what_the_loads_part_leaves():
    """`breaking` × factor/1.5, the quotient at least 1: 3.0 → 2.2, 1.2 → 1.1 at 1.1; a line keeps 0.8 of its own load over it."""
    under = SafetyFactors(breaking=1.1, bond=3.0, yielding=1.2).at_breaking_load
    assert (under.bond, under.yielding) == pytest.approx((2.2, 1.1), rel=1e-12)
    assert under.line_fraction == pytest.approx(0.8 / 1.1, rel=1e-12)


def test_an_extreme_load_leaves_out_the_factors_part_for_loads():
    """A factor of 3 is 2 under a load that is not exceeded (3/1.5, EN 1990), one of 1.2 is 1, never less; others keep it."""
    for full, under_extreme in ((3.0, 2.0), (1.65, 1.1), (1.2, 1.0), (1.0, 1.0)):
        one = a_check([10.0, 10.0], 60.0, factor=SafetyFactor(full, "ultimate"))
        (both,) = with_extreme_loads([one], np.array([False, True]))
        assert both.margin == pytest.approx([6 / full - 1, 6 / under_extreme - 1], rel=1e-12)
        assert both.load_factor == pytest.approx(one.load_factor, rel=1e-12)
        assert both.in_cases(slice(1, 2)).margin == pytest.approx(both.margin[1:], rel=1e-12)


def test_the_factor_beside_a_margin_is_that_of_its_case():
    """Where the extreme load governs, its factor and name stand beside it: allowable/(factor × load) − 1 is the margin."""
    one = a_check([10.0, 30.0], 60.0, factor=SafetyFactor(3.0, "ultimate"))
    (worst,) = envelope(with_extreme_loads([one], np.array([False, True])))
    assert (worst.case, worst.factor) == (1, SafetyFactor(2.0, "ultimate, extreme load"))
    assert worst.margin == pytest.approx(worst.allowable / (worst.factor.value * worst.load) - 1, rel=1e-12)
    (milder,) = envelope(with_extreme_loads([one], np.array([True, False])))
    assert milder.factor == SafetyFactor(3.0, "ultimate")


def test_a_limit_in_service_is_kept_under_the_load_in_service():
    """Of an extreme load 1/1.5 is in service: a replaceable pin's limits are 1.5 times as far from it; others keep at least 1."""
    one = checked(
        "pin", "bearing, in service", [10.0], 15.0, "N", SafetyFactors().safety_factor(SERVICEABILITY), "s"
    )
    (extreme,) = with_extreme_loads([one], np.array([True]))
    assert one.margin[0] == pytest.approx(0.5)
    assert extreme.margin[0] == pytest.approx(1.25)
    assert SafetyFactor(1.2, "yielding").under_extreme_load.value == 1.0


def test_case_by_case_is_the_envelope_of_each_case_alone():
    """Of checks of one part and name the worse one in each case, the governing check first; what was not checked is left out."""
    checks = [
        a_check([10.0, 30.0, 5.0], 60.0, factor=SafetyFactor(3.0, "ultimate")),
        a_check([20.0, 15.0, 0.0], 60.0, factor=SafetyFactor(3.0, "ultimate")),
        replace(a_check([50.0, 1.0, 2.0], 60.0), check="other"),
        not_checked("lug", "third", 3, "no data"),
    ]
    checks = [*with_extreme_loads(checks, np.array([False, True, False]))]
    found = list(case_by_case(checks, [2, 0, 1]))
    for case, every in zip([2, 0, 1], found, strict=True):
        alone = envelope(one.in_cases(slice(case, case + 1)) for one in checks if one.kind == "checked")
        assert every == tuple(replace(one, case=case) for one in alone)
        assert len(every) == 2
    assert sorted(one.load for one in found[2]) == [1.0, 30.0]
