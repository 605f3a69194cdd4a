"""Which joints of a boat file are to be decided between."""

from __future__ import annotations

from cases.input.boat_file import BoatFile
from models.joints import Joint


def candidates(file: BoatFile) -> tuple[Joint, ...]:
    """The joints marked `candidate`; where none is, those whose parts are described; where none is described, all.

    In the order of the file. The others are there to compare with.
    """
    if marked := tuple(joint for joint in file.joints if joint.candidate):
        return marked
    return tuple(joint for joint in file.joints if joint.describes_parts) or tuple(file.joints)
