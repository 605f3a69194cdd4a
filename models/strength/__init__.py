"""Resistance and stiffness of what joints, truss and beams are made of, a folder a topic.

============  ===================================================================================================
`springs`     six-by-six stiffness of a part about a point: moved, rotated, added, put in series
`margins`     checks, safety factors, margins, and the governing check
`attachment`  how a fitting is fixed to a beam: six components through connections of any kind
`bounds`      bounds on the dimensions of a part
bolts/        bolt groups; shear, tension and both; bearing, punching and pull-through; prying, base plates
lugs/         one lug, two lugs on one pin, pins; the bolted plate with lugs, the beam's eyes, the stay's attachment
bonding/      bond lines in shear lag, laps with peel, rings and sockets, bonded base plates, sleeves, taped ends, straps
welds/        fillet welds, the metal beside them, welded base plates
plates/       a rigid disc in a plate; walls under a local load
members/      struts; wire and rope
============  ===================================================================================================

Every function is pure and takes all cases at once (first axis). Resistances are characteristic values; safety factors
are in `models.strength.margins.SafetyFactors` alone. SI throughout.
"""
