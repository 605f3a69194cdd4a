"""The box platforms of the shells as the recipe takes them, and the frame of its members under the same loads."""

import numpy as np

from femcore.frame.builder import RIGID, End, FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.sections import Wall
from femcore.solvers.solution import solve
from models.boat.platform import PlatformMember
from models.boat.platform_recipe import Bulkhead, PlatformAsBuilt, Sheet, Skin
from tests.models.boat.shell_platform import BoxPlatform, Twist, twist_of

E, NU = 10e9, 0.3
G = E / (2 * (1 + NU))


def sheet(thickness, moduli=None):
    """A wall of the shells, its axis 1 along the member; left out, of their isotropic material."""
    if moduli is None:
        return Sheet.of_wall(Wall.isotropic(E, thickness, nu=NU), along=True)
    E1, E2, nu12, shear = moduli
    rigidity = thickness**3 / 12
    return Sheet(
        E1 * thickness,
        E2 * thickness,
        shear * thickness,
        shear * rigidity,
        E1 / (1 - nu12**2 * E2 / E1) * rigidity,
        thickness,
    )


def box_properties(breadth, depth, t):
    """EA, EI_vertical, EI_lateral, GJ, GA_vertical, GA_lateral of a thin-walled box: textbook formulas."""
    return {
        "EA": E * 2 * (breadth + depth) * t,
        "EI_vertical": E * t * (depth**3 / 6 + breadth * depth**2 / 2),
        "EI_lateral": E * t * (breadth**3 / 6 + depth * breadth**2 / 2),
        "GJ": G * 2 * t * (breadth * depth) ** 2 / (breadth + depth),
        "GA_vertical": G * 2 * depth * t,
        "GA_lateral": G * 2 * breadth * t,
    }


def as_built(given: BoxPlatform) -> PlatformAsBuilt:
    """The same platform for the recipe."""
    beam, (E1, E2, nu12, shear) = given.aft_beam, given.skin_moduli
    across = E2, E1, nu12 * E2 / E1, shear
    beams = (
        ()
        if beam is None
        else (
            PlatformMember(
                name="aft beam",
                station=beam[0],
                height=beam[1],
                inboard=given.breadth / 2,
                **box_properties(*beam[2:]),
            ),
        )
    )
    return PlatformAsBuilt(
        given.spacing, given.breadth / 2, 0.0, given.depth,
        tuple(
            Bulkhead(f"bulkhead {x:g}", x, low, top, *(sheet(each, given.bulkhead_moduli) for each in (t, t_d)))
            for x, low, top, t, t_d in given.bulkheads
        ),
        tuple(Skin(z, *given.deck, sheet(t, across)) for z, t in given.skins),
        beams,
    )  # fmt: skip


def frame_of(given: BoxPlatform, members, hull=None):
    """The members on the hulls' beams, held statically determinately; nodes "port 0" and so on."""
    builder = FrameBuilder()
    hull = hull or box_properties(given.breadth, given.depth, given.hull)
    hulls = Stiffness(EA=hull["EA"], EIy=hull["EI_vertical"], EIz=hull["EI_lateral"], GJ=hull["GJ"],
                      GAy=hull["GA_lateral"], GAz=hull["GA_vertical"])  # fmt: skip
    stops = sorted({given.aft, given.forward, *(one.station for one in members)})
    for side, sign in (("port", 1), ("starboard", -1)):
        nodes = [builder.node(f"{side} {x:g}", (x, sign * given.spacing / 2, given.depth / 2)) for x in stops]
        builder.beam(side, nodes, hulls, divide=2)
    for one in members:
        arm = np.array([0.0, given.breadth / 2, one.height - given.depth / 2])
        springs = (RIGID, RIGID, RIGID, one.end_spring, RIGID, RIGID)
        stiffness = Stiffness(EA=one.EA, EIy=one.EI_vertical, EIz=one.EI_lateral, GJ=one.GJ,
                              GAy=one.GA_lateral, GAz=one.GA_vertical)  # fmt: skip
        ends = [End(tuple(arm * [1, sign, 1]), springs, np.eye(3)) for sign in (1, -1)]
        builder.beam(
            one.name,
            [f"starboard {one.station:g}", f"port {one.station:g}"],
            stiffness,
            start=ends[0],
            end=ends[1],
        )
    aft, ahead = (f"port {x:g}" for x in (stops[0], stops[-1]))
    builder.support(aft, ["ux", "uy", "uz"])
    builder.support(ahead, ["uy", "uz"])
    builder.support(f"starboard {stops[0]:g}", ["uz"])
    return builder.build(), stops


def frame_twist(given: BoxPlatform, members=None, hull=None) -> Twist:
    """Of the recipe's frame, as `antisymmetric_twist` of the shells: the same loads, read at the same places."""
    members = as_built(given).members() if members is None else members
    frame, stops = frame_of(given, members, hull)
    loads, index = Loads.zeros(frame, "twist"), frame.node_index
    for side, sign in (("port", 1), ("starboard", -1)):
        loads.nodal[0, index[f"{side} {stops[-1]:g}"], 2] = -sign / (stops[-1] - stops[0])
        loads.nodal[0, index[f"{side} {stops[0]:g}"], 2] = sign / (stops[-1] - stops[0])
    u = solve(frame, loads).displacement[0]
    port, starboard = (
        u[[index[f"{side} {one.station:g}"] for one in members]] for side in ("port", "starboard")
    )
    stations = np.array([one.station for one in members])
    return twist_of(
        stations, (port[:, 2] - starboard[:, 2]) / 2, (port[:, 3] + starboard[:, 3]) / 2, given.spacing
    )


def frame_symmetric_roll(given: BoxPlatform, members) -> float:
    """rad per N·m at each bulkhead, as `symmetric_roll` of the shells."""
    frame, _ = frame_of(given, members)
    loads, index = Loads.zeros(frame, "roll"), frame.node_index
    port, starboard = (
        [index[f"{side} {one[0]:g}"] for one in given.bulkheads] for side in ("port", "starboard")
    )
    loads.nodal[0, port, 3], loads.nodal[0, starboard, 3] = 1.0, -1.0
    roll = solve(frame, loads).displacement[0, :, 3]
    return float(np.mean(roll[port] - roll[starboard])) / 2


def drawn_platform(seed: int) -> BoxPlatform:
    """A platform within the recipe's range, its measures drawn evenly, like the 40 that gave the scatter it states."""
    draw = np.random.default_rng(seed).uniform
    spacing, breadth, depth, length = (
        round(draw(*ends), 3) for ends in ((5, 8), (0.9, 1.5), (1.4, 2.2), (3.8, 6.4))
    )
    high = round(draw(0.4, 0.95) * depth, 3)
    bottom = round(draw(0.1, 0.9) * (depth - high), 3) if draw() < 0.5 else round(depth - high, 3)
    top, t_d = round(bottom + high, 3), round(draw(0.008, 0.018), 4)
    stations = [0.0, -length] if draw() < 0.5 else [0.0, round(-length * draw(0.35, 0.65), 3), -length]
    skins = [(z, round(draw(0.003, 0.009), 4)) for z in ((top,) if draw() < 0.5 else (top, bottom))]
    aft, tube = round(-length - draw(1.0, 2.5), 3), round(draw(0.15, 0.25), 3)
    return BoxPlatform(
        spacing, breadth, depth, round(draw(0.008, 0.018), 4), round(0.7 * spacing, 3), round(aft - 0.8, 3),
        tuple((x, bottom, top, round(draw(0.008, 0.018), 4), t_d) for x in stations), tuple(skins), (-length, 0.0),
        (aft, round(draw(0.5, 0.8) * depth, 3), tube, tube, 0.006), size=0.25,
    )  # fmt: skip
