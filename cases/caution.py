"""The caution beside every number that a person could act on."""

CAUTION = (
    "Preliminary engineering aid. Results depend on the input and on workmanship it cannot see; rig failure can injure and "
    "kill. A qualified naval architect or engineer and the applicable rules and local codes decide."
)
CAUTION_IN_FULL = (
    CAUTION,
    "A crossbeam carries the forestay: if it, a joint, a bolt or a bond fails, the mast can come down on people.",
    (
        "Loads of waves, slamming, grounding, docking and lifting, fatigue, impact, heat, water in the laminate and the scatter "
        "of hand-made bonds are in these numbers only as far as the boat file contains them."
    ),
    (
        "Check the input against the boat, have the scantlings designed to the rules that apply to her, and inspect and "
        "proof-load the built joint before it is used."
    ),
)
