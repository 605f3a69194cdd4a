"""What joints, truss and beam are made of, and what it can stand: a module a topic.

=================  ==========================================================================================
`springs`          six-by-six stiffness of a part about a point: moved, turned, added, put in series
`bolts`            a group of bolts: forces on each, stiffness of the group
`bolt_strength`    what a bolt stands; shear, tension and both; bearing and punching in metal
`bolted_plate`     the plate that the bolts hold: prying, backing plates; bearing and pull-through in laminate
`pin`              a pin in double shear and bending
`lug`              one lug: hole, root, sideways buckling
`lug_pair`         two lugs on one pin: stiffness, loads on each, torque at first failure
`lug_fitting`      a bolted plate with lugs and a pin: parts in series, shares, all its checks
`weld`             fillet welds in alloy, and the metal beside them
`bond`             glue lines in shear lag, elastic or with plastic reserve
`single_lap`       a lap of two sheets that bend: shear and peel
`disc`             a rigid disc in a plate: its stiffness in torsion, in the plane, tilted, pushed through
`ring`             one ring of a bonded socket: stiffness part by part, flows
`ring_checks`      what a ring stands: glue, tape, skin
`socket`           rings in one socket
`plate`            buckling of flat plates
`column`           a strut: curve, own tilt, bearing of its foot
`line`             wire and rope: bends, terminals, working load
`fitting`          a pin between cheeks, or through the bores of a wall or the end of a tube
`beam_end`         the beam's eyes on the pin of a joint, and how they are fixed
`fixing`           how a fitting is fixed to a beam: six components through feet of any kind; the kinds follow
`bolted_foot`      a plate on bolts; the plate of `lug_fitting` too
`welded_foot`      fillets around what stands there
`bonded_foot`      a plate glued on
`straps`           tape wound round a foot and the beam
`sleeve`           a sleeve or plug glued to the end of a tube
`taped_end`        the end of a tube taped to a wall
`wall_under`       the wall bent under a foot: a round beam's, or flat
=================  ==========================================================================================

Every function is pure and takes all cases at once (first axis). Strengths are characteristic ones: safety
factors stand in `models.strength.margins.SafetyFactors` alone. SI throughout.
"""
