"""What each topic of the textbook cases teaches, in a few sentences before its cases."""

from __future__ import annotations

INTRODUCTIONS = {
    "beams": (
        "Everything begins with one straight beam. Bending follows from EI w″ = M, twist from GJ θ′ = T, stretch from EA u′ = N. "
        "Between its ends a uniform beam element solves these equations exactly, so one element is enough and what is left "
        "of a difference is rounding. Watch the signs: hogging is +My for a beam along +x with z up."
    ),
    "continuous beams": (
        "A beam over several supports is statically indeterminate: the moments over the supports follow from the slopes being "
        "the same on both sides. Clapeyron’s three-moment equation and slope deflection are two ways of writing that down; "
        "the stiffness method is slope deflection for any frame."
    ),
    "shear-flexible beams": (
        "A short beam also gives in shear. The section then turns less than the axis slopes, and the deflection gains a part "
        "that grows with L, not L³. What counts is Φ = 12EI/(G A_s L²): small for slender beams, about 1 for stubby ones."
    ),
    "curved and twisted beams": (
        "A curved beam bends and twists at once. Here it is a chain of straight chords; the error falls with the square of "
        "their length, which the tolerances show. A bar that is twisted along its length couples its two planes of bending in "
        "the same way."
    ),
    "grids and space frames": (
        "At a joint in space one member’s bending is another’s torque. This is where the torsional stiffness GJ decides how "
        "loads are shared, and where a sign or an axis that is mixed up shows at once."
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
        "A release lets an end go in one direction: a hinge carries no moment, a sliding joint no shear. The deflection may "
        "then have a kink, or a jump."
    ),
    "spring supports": (
        "Supports give. A spring shares the load with the beam in the ratio of their stiffnesses; a row of springs is an "
        "elastic foundation."
    ),
    "semi-rigid joints": (
        "Real joints are neither hinged nor rigid. A rotational spring k between a beam and its support lets the end moment "
        "through in a ratio set by k L/EI: soft joints behave as hinges, stiff ones as rigid, and in between "
        "is where most bonded and bolted joints lie."
    ),
    "settlement and imposed movements": (
        "A support that moves loads an indeterminate frame without any force being applied. The answer is proportional to the "
        "stiffness: the stiffer the frame, the more it suffers."
    ),
    "temperature": (
        "Warmth makes a free bar longer and a held one loaded. Only what hinders the growth makes force, and where all parts "
        "grow alike nothing is felt. Enough warmth makes a held column buckle."
    ),
    "cables and trussed beams": (
        "A cable pulls and never pushes; slack, it is not there. Pretension keeps it at work, and a strap under a strut turns "
        "a slender beam into a deep truss. Pretension is the tension measured in the frame at rest."
    ),
    "second order": (
        "So far equilibrium was taken in the shape at rest. In the deformed shape an axial thrust makes moments of the "
        "deflection and amplifies it by about 1/(1 − P/P_cr); a pull stiffens. Where movements are large the geometry itself "
        "changes, up to a cantilever that is rolled into a circle."
    ),
    "buckling": (
        "At the critical load a frame can stand beside its straight shape: K + λG loses its stiffness in some direction, "
        "which is the mode. The factor is on everything that acts in the case. The theory knows neither crookedness nor yield, "
        "so a real column fails earlier."
    ),
    "vibration": (
        "Mass and stiffness together give natural frequencies, K φ = ω² M φ. The mass is consistent with the shape of "
        "the elements unless a case asks for it to be lumped at their ends; thrust lowers frequencies to 0 at the critical "
        "load, pull raises them."
    ),
    "racking of two bows": (
        "Two long cantilevers, one loaded up and one down, with a beam across that ties them. The stiffer the joints of that "
        "beam, the more torque they attract, T(k) = T_rigid k/(k + k_half). This is the question that the whole "
        "program is for, in cases small enough to be worked by hand."
    ),
}
"""By topic."""
