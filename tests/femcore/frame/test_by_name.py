"""A frame, its loads and its results by name, from the package's door; and every misuse as one clear fault."""

import numpy as np
import pytest

import femcore
from femcore import (
    End,
    FrameBuilder,
    InputFault,
    LoadsBuilder,
    Mechanism,
    PreparedFrame,
    Stiffness,
    buckling,
    member_forces,
    natural_frequencies,
    solve,
)

BEAM = Stiffness(EA=4e8, EIy=2e6, EIz=3e6, GJ=1e6, mass=5.0, expansion=1e-5)
L, W = 4.0, 1e4


def propped(divide=1, **beam):
    """A builder of a propped cantilever AB."""
    builder = FrameBuilder()
    builder.nodes(A=(0, 0, 0), B=(L, 0, 0))
    builder.beam("AB", ["A", "B"], BEAM, divide=divide, **beam)
    builder.support("A")
    builder.support("B", ["uz"])
    return builder


def tied():
    """The propped cantilever with a cable to an anchor above B, free to move up."""
    builder = propped()
    builder.node("C", (L, 0, 3.0))
    builder.support("C")
    builder.cable("stay", ["B", "C"], EA=1e6)
    return builder


@pytest.mark.parametrize("divide", [1, 4, 7])
def test_a_propped_cantilever_in_eight_lines(divide):
    """3 w L/8 on the prop, w L²/8 at the root, zero moment at the prop, 9 w L²/128 at 5 L/8 from the root."""
    frame = propped(divide).build()
    solution = solve(frame, LoadsBuilder(frame).line("AB", qz=-W))
    assert solution.reaction("B").Fz == pytest.approx(3 * W * L / 8)
    assert solution.reaction("A").Fz == pytest.approx(5 * W * L / 8)
    assert solution.node("B").ry == pytest.approx(-W * L**3 / 48 / BEAM.EIy)
    beam = solution.beam("AB")
    assert abs(beam.start.My) == pytest.approx(W * L**2 / 8)
    assert beam.end.My == pytest.approx(0, abs=1e-9 * W * L**2)
    assert beam.at(5 * L / 8).My == pytest.approx(-np.sign(beam.start.My) * 9 * W * L**2 / 128)
    assert beam.at(5 * L / 8).Vz == pytest.approx(0, abs=1e-9 * W * L)
    assert beam.length == L
    assert beam.displacement(L).uz == pytest.approx(0, abs=1e-12)


def test_results_by_name_are_the_arrays():
    """Every named component is the entry of the array that holds it, in every case, by the case's name or number."""
    frame = tied().build()
    loads = LoadsBuilder(frame, "down", "up", "free").point("B", Fx=3.0, My=2.0, case="free")
    loads.point("B", Fz=-W, case="down").point("B", Fz=W, case="up").gravity(case="free")
    solution = solve(frame, loads)
    for number, case in enumerate(solution.names):
        for node, index in frame.node_index.items():
            assert solution.node(node, case) == tuple(solution.displacement[number, index])
            assert solution.reaction(node, case) == tuple(solution.reactions[number, index])
        assert solution.node("B", number) == solution.node("B", case)
        along, forces = solution.beam("AB", case), member_forces(solution, "AB")
        for k, station in enumerate(forces.station):
            assert along.at(station) == pytest.approx(forces.actions[number, k])
            assert along.displacement(station) == pytest.approx(forces.displacement[number, k])
        assert solution.cable("stay", case).tension == max(0.0, solution.tension[number, 0])


def test_loads_by_name_are_the_arrays():
    """Each kind of load fills its own array at its own place, and calls add up."""
    frame = tied().build()
    loads = LoadsBuilder(frame, "one", "two")
    loads.point("B", Fy=1.0, Mz=2.0, case="two").point("B", Fy=3.0, case="two")
    loads.line("AB", qz=5.0, case="one").line("AB", qz=1.0, axes="beam", case="one")
    loads.temperature("AB", 20.0, case="one").temperature("stay", -5.0, case="two")
    loads.displacement("B", uz=-0.01, case="two").gravity(case="one")
    arrays, B = loads.build(), frame.node_index["B"]
    assert arrays.nodal[1, B].tolist() == [0, 4, 0, 0, 0, 2]
    assert arrays.line[0, 0].tolist() == pytest.approx([0, 0, 6 - 5 * 9.80665])
    assert arrays.temperature_change.tolist() == [[20.0], [0.0]]
    assert arrays.cable_temperature_change.tolist() == [[0.0], [-5.0]]
    assert arrays.support_displacement[1, B].tolist() == [0, 0, -0.01, 0, 0, 0]
    assert np.count_nonzero(arrays.nodal[0]) == 0
    loads.point("B", Fx=1.0, case="one")
    assert np.count_nonzero(arrays.nodal[0]) == 0


def test_springs_and_ends_by_freedom():
    """A hinge and a spring to ground named by freedom are those given as six numbers."""
    builder = propped(end=End.of(ry=0.0, rz=1e5))
    builder.spring("B", None, {"uy": 2e5})
    frame = builder.build()
    assert frame.end_springs[0, 6:].tolist() == [np.inf] * 4 + [0.0, 1e5]
    assert frame.springs.tolist() == [[0, 2e5, 0, 0, 0, 0]]


def test_second_order_and_modes_by_case_name():
    """Cases are chosen by name for the deformed shape, for buckling and for vibration."""
    frame = propped(4).build()
    loads = LoadsBuilder(frame, "none", "push").point("B", Fx=-1e5, case="push")
    solution = solve(PreparedFrame.of(frame), loads, second_order=["push"])
    assert solution.second_order.tolist() == [False, True]
    solution = solve(frame, loads)
    assert buckling(solution, "push", 2).values == pytest.approx(buckling(solution, 1, 2).values)
    assert natural_frequencies(solution, "none", 2).values == pytest.approx(
        natural_frequencies(solution, 0, 2).values
    )


NAN = float("nan")
MISUSES = {
    "node twice": (
        lambda b: b.node("A", (1, 0, 0)),
        "node 'A': is duplicated; give each node a name of its own",
    ),
    "node in a plane": (
        lambda b: b.node("D", (1, 0)),
        "node 'D': has shape (2,) where 3 numbers are needed; give as many",
    ),
    "node nowhere": (
        lambda b: b.node("D", (0, 0, NAN)),
        "node 'D': (0, 0, nan) is not finite; give finite numbers in SI",
    ),
    "node in words": (lambda b: b.node("D", "abc"), "node 'D': 'abc' is not numeric; give numbers in SI"),
    "beam twice": (
        lambda b: b.beam("AB", ["A", "B"], BEAM),
        "beam 'AB': is duplicated; give each beam a name of its own",
    ),
    "unknown node": (
        lambda b: b.beam("AC", ["A", "mas"], BEAM),
        "beam 'AC': node 'mas' does not exist; did you mean 'mast'?",
    ),
    "path of one": (
        lambda b: b.beam("BA", ["B"], BEAM),
        'beam \'BA\': path: does not list two nodes or more; give a list, such as ["A", "B"]',
    ),
    "no length": (
        lambda b: b.beam("AA", ["A", "A"], BEAM),
        "beam 'AA': has no length; set its ends (offsets included) apart",
    ),
    "up along": (
        lambda b: b.beam("BA", ["B", "A"], BEAM, up=(1, 0, 0)),
        "beam 'BA': up: is parallel to the beam; give a direction perpendicular to it",
    ),
    "negative stiffness": (
        lambda b: b.beam("BA", ["B", "A"], Stiffness(EA=1.0, EIy=-1.0)),
        "beam 'BA': EIy: [-1.0] is negative or no number; give at least 0, in SI",
    ),
    "no axial stiffness": (
        lambda b: b.beam("BA", ["B", "A"], Stiffness(EA=0.0)),
        "beam 'BA': EA: [0.0] is not above 0; give more than 0, in SI",
    ),
    "stiffness of another count": (
        lambda b: b.beam("BA", ["B", "A"], Stiffness(EA=np.ones(3))),
        "beam 'BA': EA: has shape (3,) on 1 elements; give one value, or one for each element",
    ),
    "divided by zero": (
        lambda b: b.beam("BA", ["B", "A"], BEAM, divide=0),
        "beam 'BA': divide: 0 does not divide the beam; give a whole number from 1, or one for each of 1 bays",
    ),
    "unknown end freedom": (
        lambda _: End.of(Ry=0.0),
        "beam end: freedom 'Ry' does not exist; did you mean 'ry'?",
    ),
    "five springs": (
        lambda b: b.beam("BA", ["B", "A"], BEAM, end=End(springs=(1.0,) * 5)),
        "beam 'BA': end: springs: has shape (5,) where 6 numbers are needed; give as many",
    ),
    "unknown freedom": (
        lambda b: b.support("B", ["uzz"]),
        "support 'B': freedom 'uzz' does not exist; did you mean 'uz'?",
    ),
    "freedom number 6": (
        lambda b: b.support("B", [6]),
        "support 'B': freedom '6' does not exist; name one of 'ux', 'uy', 'uz', 'rx', 'ry', 'rz'",
    ),
    "unknown support": (
        lambda b: b.support("prop"),
        "support: node 'prop' does not exist; name one of 'A', 'B', 'mast'",
    ),
    "negative spring": (
        lambda b: b.spring("A", None, {"uz": -1.0}),
        "spring 'A'–ground: [0.0, 0.0, -1.0, 0.0, 0.0, 0.0] is negative or no number; give at least 0, in SI",
    ),
    "spring on itself": (
        lambda b: b.spring("A", "A", np.ones(6)),
        "spring 'A'–'A': joins a node to itself; name another node, or None for ground",
    ),
    "negative mass": (
        lambda b: b.mass("A", -1.0),
        "mass on 'A': -1.0 is negative or no number; give at least 0, in SI",
    ),
    "negative pretension": (
        lambda b: b.cable("c", ["A", "B"], 1e6, -1.0),
        "cable 'c': pretension: -1.0 is negative or no number; give at least 0, in SI",
    ),
}


@pytest.mark.parametrize("misuse", MISUSES)
def test_misuse_of_the_frame_builder(misuse):
    """Every misuse of the frame builder is one InputFault, raised by the call that is wrong."""
    builder = propped()
    builder.node("mast", (0, 0, 9))
    act, message = MISUSES[misuse]
    with pytest.raises(InputFault) as caught:
        act(builder)
    assert str(caught.value) == message


LOAD_MISUSES = {
    "unknown node": (
        lambda b: b.point("b", case="one"),
        "node 'b' does not exist; did you mean 'B'?",
    ),
    "unknown beam": (
        lambda b: b.line("ABC", qz=1.0, case="one"),
        "beam 'ABC' does not exist; did you mean 'AB'?",
    ),
    "unknown case": (lambda b: b.point("B", case="on"), "case 'on' does not exist; did you mean 'one'?"),
    "case left out": (
        lambda b: b.point("B"),
        "case: is missing where there are several; name one of 'one', 'two'",
    ),
    "not finite": (
        lambda b: b.point("B", Fx=NAN, case="one"),
        "point load on 'B': (nan, 0.0, 0.0, 0.0, 0.0, 0.0) is not finite; give finite numbers in SI",
    ),
    "warm mast": (
        lambda b: b.temperature("sty", 1.0, case="one"),
        "temperature: beam or cable 'sty' does not exist; did you mean 'stay'?",
    ),
    "moved where free": (
        lambda b: b.displacement("B", ux=0.1, case="one"),
        "displacement of 'B': 'ux' is not fixed there; add 'ux' to its support",
    ),
    "other axes": (
        lambda b: b.line("AB", axes="local", case="one"),
        "line load on 'AB': axes: 'local' is neither; give 'global' or 'beam'",
    ),
}


@pytest.mark.parametrize("misuse", LOAD_MISUSES)
def test_misuse_of_the_loads_builder(misuse):
    """Every misuse of the loads builder is one InputFault."""
    act, message = LOAD_MISUSES[misuse]
    with pytest.raises(InputFault) as caught:
        act(LoadsBuilder(tied().build(), "one", "two"))
    assert str(caught.value) == message


RESULT_MISUSES = {
    "unknown node": (lambda s: s.node("D", 0), "node 'D' does not exist; name one of 'A', 'B', 'C'"),
    "unknown beam": (lambda s: s.beam("AB.", 0), "beam 'AB.' does not exist; did you mean 'AB'?"),
    "unknown cable": (lambda s: s.cable("sta", 0), "cable 'sta' does not exist; did you mean 'stay'?"),
    "unknown case": (lambda s: s.node("B", "tow"), "case 'tow' does not exist; did you mean 'two'?"),
    "case left out": (
        lambda s: s.node("B"),
        "case: is missing where there are several; name one of 'one', 'two'",
    ),
    "case number": (lambda s: s.reaction("B", 2), "case '2' does not exist; name one of 'one', 'two'"),
    "station": (
        lambda s: s.beam("AB", 0).at("x"),
        "beam 'AB': station: 'x' is not numeric; give numbers in SI",
    ),
    "beyond the beam": (
        lambda s: s.beam("AB", 0).at(5.0),
        "beam 'AB': at 5 m: is outside the beam; give 0 to 4 m",
    ),
    "buckling of no case": (
        lambda s: buckling(s, "three", 1),
        "case 'three' does not exist; name one of 'one', 'two'",
    ),
}


@pytest.mark.parametrize("misuse", RESULT_MISUSES)
def test_misuse_of_a_solution(misuse):
    """A name that is not in the solution is one InputFault."""
    frame = tied().build()
    act, message = RESULT_MISUSES[misuse]
    with pytest.raises(InputFault) as caught:
        act(solve(frame, LoadsBuilder(frame, "one", "two")))
    assert str(caught.value) == message


def test_misuse_of_solve():
    """Loads of another frame, loads that are not finite, unknown cases and too few truth values are InputFaults."""
    frame, loads = propped().build(), LoadsBuilder(propped(2).build()).build()
    with pytest.raises(
        InputFault,
        match=r"has shape .* on a frame that needs .*; build the loads on the frame that is solved",
    ):
        solve(frame, loads)
    loads = LoadsBuilder(frame).build()
    with pytest.raises(InputFault, match="case 'lod' does not exist; did you mean 'load'"):
        solve(frame, loads, second_order=["lod"])
    with pytest.raises(InputFault, match=r"second_order: has shape \(3,\) with 1 cases"):
        solve(frame, loads, second_order=[True, False, True])
    loads.nodal[0, 1, 2] = np.nan
    with pytest.raises(InputFault, match="loads: nodal: is not finite"):
        solve(frame, loads)


def test_a_missing_support_is_a_mechanism():
    """A frame that nothing supports is named as what moves, with its node."""
    builder = FrameBuilder()
    builder.nodes(A=(0, 0, 0), B=(L, 0, 0))
    builder.beam("AB", ["A", "B"], BEAM)
    frame = builder.build()
    with pytest.raises(Mechanism) as caught:
        solve(frame, LoadsBuilder(frame).line("AB", qz=-W))
    assert "support" in str(caught.value)
    assert set(caught.value.moving) <= {"A", "B"}
    assert caught.value.moving


def test_reprs_are_short():
    """What a session shows of builders, frames, loads, solutions and results is one line, however many elements they have."""
    builder = propped(500)
    frame = builder.build()
    loads = LoadsBuilder(frame, *(f"case {number}" for number in range(40)))
    solution = solve(frame, loads)
    solution.beam("AB", 3)
    things = [
        builder,
        frame,
        frame.cables,
        loads,
        loads.build(),
        BEAM,
        End(),
        PreparedFrame.of(frame),
        solution,
    ]
    things += [
        solution.beam("AB", 3),
        solution.node("B", 3),
        buckling(solution, 0, 1),
        member_forces(solution, "AB"),
    ]
    things += [solution.parts, solution.prepared.factors]
    for thing in things:
        assert len(repr(thing)) < 320, type(thing)
        assert "\n" not in repr(thing)
    assert (
        repr(frame) == "Frame(2 named nodes of 501, 1 beams of 500 elements, 0 springs, 0 cables, 2 supports)"
    )


def test_the_door_shows_its_names():
    """`dir` of the package is its public names; each is the object of its own module, and another name is refused."""
    assert dir(femcore) == sorted(femcore.__all__)
    assert femcore.solve is solve
    with pytest.raises(AttributeError, match="no attribute 'sovle'"):
        _ = femcore.sovle
