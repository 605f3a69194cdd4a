"""Introductions to the topics of the textbook cases, a few sentences each."""

from __future__ import annotations

INTRODUCTIONS = {
    "beams": (
        "One straight beam. Bending follows from EI w″ = M, twist from GJ θ′ = T, stretch from EA u′ = N. "
        "Between its ends a uniform beam element solves these equations exactly, so one element is enough and the "
        "difference left is rounding. Mind the signs: hogging is +My for a beam along +x with z up."
    ),
    "continuous beams": (
        "A beam over several supports is statically indeterminate: the moments over the supports follow from the slopes being "
        "the same on both sides. Clapeyron's three-moment equation and slope deflection are two ways of writing that down; "
        "the stiffness method is slope deflection for any frame."
    ),
    "shear-flexible beams": (
        "A short beam also deforms in shear. The section then rotates less than the axis slopes, and the deflection gains a part "
        "proportional to L, not L³. The parameter is Φ = 12EI/(G A_s L²): small for slender beams, about 1 for stubby ones."
    ),
    "curved and twisted beams": (
        "A curved beam bends and twists at once. Here it is a chain of straight chords; the error falls with the square of "
        "their length, which the tolerances show. A bar that is twisted along its length couples its two planes of bending in "
        "the same way."
    ),
    "grids and space frames": (
        "At a joint in space one member's bending is another's torque. The torsional stiffness GJ decides how loads are "
        "shared, and a wrong sign or axis is visible at once."
    ),
    "plane frames": (
        "Columns and beams that meet in rigid joints: side loads, sloping members, closed rings. Some printed answers leave "
        "the stretch of the members out; those cases are given a very large A."
    ),
    "trusses": (
        "Bars with hinges at both ends carry axial force alone. Statics gives the forces where there are just enough bars; "
        "where there are more, their stiffness decides."
    ),
    "rigid offsets": (
        "Joints have a size, and axes do not always meet. A rigid arm carries forces from the node to the end of the beam and "
        "makes moments of them; it changes what an end rotation asks of the beam."
    ),
    "hinges and releases": (
        "A release frees an end in one direction: a hinge carries no moment, a sliding joint no shear. The deflection may "
        "then have a kink, or a jump."
    ),
    "spring supports": (
        "Supports are flexible. A spring shares the load with the beam in the ratio of their stiffnesses; a row of springs is an "
        "elastic foundation."
    ),
    "semi-rigid joints": (
        "Real joints are neither hinged nor rigid. A rotational spring k between a beam and its support lets the end moment "
        "through in a ratio set by k L/EI: soft joints behave as hinges, stiff ones as rigid, and in between "
        "is where most bonded and bolted joints lie."
    ),
    "settlement and imposed movements": (
        "A support that moves loads an indeterminate frame without any force being applied. The answer is proportional to the "
        "stiffness: the stiffer the frame, the larger its forces."
    ),
    "temperature": (
        "A temperature rise lengthens a free bar and compresses a restrained one. Only restraint makes force: if all parts "
        "expand alike, there is none. A sufficient rise makes a restrained column buckle."
    ),
    "cables and trussed beams": (
        "A cable pulls and never pushes; slack, it is not there. Pretension keeps it taut, and a strap under a strut turns "
        "a slender beam into a deep truss. Pretension is the tension in the frame before any case's load."
    ),
    "second order": (
        "First order: equilibrium in the undeformed shape. Second order: in the deformed shape an axial thrust makes moments of "
        "the deflection and amplifies it by about 1/(1 − P/P_cr); tension stiffens. Large displacements change the geometry "
        "itself, up to a cantilever bent into a circle."
    ),
    "buckling": (
        "At the critical load a frame can stand beside its straight shape: K + λG loses its stiffness in some direction, "
        "which is the mode. The factor is on everything that acts in the case. The theory has neither imperfections nor yield, "
        "so a real column fails earlier."
    ),
    "vibration": (
        "Mass and stiffness together give natural frequencies, K φ = ω² M φ. The mass is consistent with the shape of "
        "the elements unless a case asks for it to be lumped at their ends; thrust lowers frequencies to 0 at the critical "
        "load, pull raises them."
    ),
    "racking of two bows": (
        "Two long cantilevers, one loaded up and one down, with a beam across that ties them. The stiffer the joints of that "
        "beam, the more torque they attract, T(k) = T_rigid k/(k + k_half). This is the purpose of the whole "
        "program, in cases small enough to be worked by hand."
    ),
}
"""By topic."""
