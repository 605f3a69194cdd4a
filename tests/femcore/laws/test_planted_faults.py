"""The laws can fail: each planted fault turns those red that speak of it, and no law is without such a
fault.
"""

import warnings

import pytest

from tests.femcore.laws import LAWS
from tests.femcore.laws.planted_faults import FAULTS as LINEAR
from tests.femcore.laws.planted_faults_deformed import FAULTS as DEFORMED

FAULTS = [*LINEAR, *DEFORMED]

SEEDS = (0, 1)


def red(names):
    """The laws of those names that do not hold."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a planted fault may divide by zero on its way
        return {name for name in names if not all(LAWS[name].holds(seed) for seed in SEEDS)}


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_a_planted_fault_turns_its_laws_red(fault, monkeypatch):
    """Each mistake, planted, breaks every law that must see it; taken out again, all of them hold."""
    with monkeypatch.context() as patch:
        fault.plant(patch)
        assert red(fault.laws) == set(fault.laws)
    assert not red(fault.laws)


def test_every_law_can_fail():
    """For each law of the table some planted fault turns it red."""
    assert {name for fault in FAULTS for name in fault.laws} == set(LAWS)


def test_faults_have_names_of_their_own():
    """No two planted faults bear one name."""
    assert len({fault.name for fault in FAULTS}) == len(FAULTS)
