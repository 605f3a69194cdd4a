"""Where a bow has nodes: places that are one on the drawing are one node, however they were written."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.response.front_end import ABS_TOL_SAME_STOP, bow_stops
from tests.models.boats import joint_loads_on_hulls, load, plain, racking, springs

LENGTH = 4.0


@given(
    stations=st.lists(st.integers(0, 4000), max_size=6),
    beam=st.integers(50, 4000),
    slips=st.lists(st.sampled_from([0.0, 4e-16, -4e-16, 3e-4, -3e-4]), min_size=7, max_size=7),
)
def test_stops_are_apart_and_keep_the_ends_and_the_crossbeam(stations, beam, slips):
    """Root, crossbeam and stem are stops; no two are closer than the stated distance; each station has a stop that near."""
    at = [0.0, *sorted(abs(x / 1000 + slip) for x, slip in zip(stations, slips, strict=False)), LENGTH]
    at = [min(x, LENGTH) for x in at]
    stops, number = bow_stops(at, min(beam / 1000 + slips[-1], LENGTH))
    assert stops[0] == 0.0
    assert stops[-1] == LENGTH
    assert abs(stops[number] - beam / 1000) < 2 * ABS_TOL_SAME_STOP
    assert all(b - a >= ABS_TOL_SAME_STOP for a, b in pairwise(stops))
    assert all(min(abs(x - stop) for stop in stops) < ABS_TOL_SAME_STOP for x in at)


@pytest.mark.parametrize("slip", [0.0, 4.4e-16, -4.4e-16, 5e-4, -5e-4])
@pytest.mark.parametrize("at", [2.3, LENGTH])
def test_a_crossbeam_beside_a_station_answers_as_one_at_it(slip, at):
    """Joint loads are continuous in the crossbeam's place: beside a station, or the stem, by half a millimetre they change by as
    little.
    """
    exact, beside = _joint_loads(at, at), _joint_loads(at, min(at + slip, LENGTH))
    np.testing.assert_allclose(beside, exact, rtol=0, atol=(2 * abs(slip) + 1e-9) * np.abs(exact).max())


def _joint_loads(station, beam):
    """Under the forestay and in racking, with a bow station at one place and the crossbeam at another."""
    boat = plain(station=beam, length=LENGTH)
    uniform = boat.bows.stations[0]
    stations = [uniform.model_copy(update={"at": x}) for x in sorted({0.0, station, LENGTH})]
    boat = boat.model_copy(update={"bows": boat.bows.model_copy(update={"stations": stations})})
    return joint_loads_on_hulls(boat, springs(), [load("stay", (-1e3, 0.0, 9e3))], racking(4e3))
