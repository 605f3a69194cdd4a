"""What all attachments share: the wall that carries them, the base plate, and the table itself."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator

from pydantic import model_validator

from femcore.base.errors import InputFault, fault
from femcore.base.toml import Table
from femcore.base.units import Expansion
from femcore.materials import metals
from models.strength.attachment import Attachment, Connection, Footprint
from models.strength.bolts.bolted_plate import LaminateHole
from models.strength.bonding.ring import TubeWall
from models.strength.design_variable import DesignVariable
from models.strength.plates.wall_bending import SupportingWall
from models.strength.remarks import Remark
from models.tables.kinds import KindTable
from models.tables.shared import GlueTable, LayupTable, MetalName, NonNegativeLength, PositiveLength, Stress
from models.tables.stock_sizes import larger


class WallOf(Table):
    """A wall: a laminate (x along the beam), or a metal with its thickness.

    expansion : thermal, in the plane; left out, along and around as of the metal, or as the laminate's plies give it
    """

    laminate: LayupTable | None = None
    metal: MetalName | None = None
    thickness: PositiveLength | None = None
    expansion: Expansion | None = None

    @model_validator(mode="after")
    def _check_one_form(self) -> WallOf:
        if (self.laminate is None) == (self.metal is None):
            raise fault(
                "what it is made of is not known, or is said twice",
                'give laminate = "name" of one under [laminates], or metal and thickness',
            )
        if (self.metal is None) != (self.thickness is None):
            raise fault("metal and thickness belong together", "give both, or a laminate")
        return self

    @property
    def depth(self) -> float:
        """m, its thickness."""
        return self.laminate.built.thickness if self.laminate is not None else self.thickness or 0.0

    def supporting_wall(
        self, diameter: float | None = None, support_radius: float | None = None
    ) -> SupportingWall:
        """As it carries a foot."""
        laminate = None if self.laminate is None else self.laminate.built
        metal = None if self.metal is None else metals()[self.metal]
        return SupportingWall(laminate, metal, self.depth, diameter, support_radius, self.expansion)

    @property
    def tube_wall(self) -> TubeWall:
        """As the wall of a thin tube."""
        return self.supporting_wall().tube_wall


class AttachmentWall(WallOf):
    """What a fitting is fixed onto: the wall of a round beam of `diameter`, or a flat one.

    held_at : of a flat wall, from the fitting's middle to what holds it
    edge    : from a bolt to the wall's nearest edge
    bearing, shear, through, crushing : a laminate's strengths at a bolt or pin (`LaminateHole`)
    """

    diameter: PositiveLength | None = None
    held_at: PositiveLength | None = None
    edge: PositiveLength | None = None
    bearing: Stress | None = None
    shear: Stress | None = None
    through: Stress | None = None
    crushing: Stress | None = None

    @property
    def wall(self) -> SupportingWall:
        """As it carries a foot."""
        return self.supporting_wall(self.diameter, self.held_at)

    @property
    def hole(self) -> LaminateHole | None:
        """As bolts meet it; None for a metal."""
        if self.laminate is None:
            return None
        return LaminateHole(
            self.depth, self.edge or 0.0, self.bearing, self.shear, self.through, self.crushing
        )


class BasePlateTable(WallOf):
    """A base plate of size `along` by `across`; `stem`: diameter of the tube on it, where there is one."""

    along: PositiveLength
    across: PositiveLength
    stem: PositiveLength | None = None

    @property
    def size(self) -> tuple[float, float]:
        """m, along and across."""
        return self.along, self.across

    def footprint_on_plate(self, stem: Footprint | None) -> Footprint:
        """The footprint on it; InputFault where it is not given."""
        found = Footprint(diameter=self.stem) if self.stem is not None else stem
        if found is None:
            raise InputFault(
                "foot", "what stands on it is not known", 'give the tube\'s diameter: stem = "60 mm"'
            )
        return found


GLUE_LINES = (0.5e-3, 1e-3, 1.5e-3, 2e-3, 3e-3, 4e-3, 5e-3)
"""m, thicknesses that a gap-filling glue is laid in (common practice)."""


def thicker_glue(
    table: AttachmentTable, key: str, glue: GlueTable, improves: str
) -> DesignVariable[AttachmentTable]:
    """The fixing with a thicker glue line under that key: peaks of load and of temperature fall with it."""
    sizes = [
        (f"{1000 * t:g} mm", glue.model_copy(update={"thickness": t}))
        for t in larger(GLUE_LINES, glue.thickness)
    ]
    made = tuple((words, table.model_copy(update={key: size})) for words, size in sizes)
    return DesignVariable("glue line's thickness", (improves,), made)


class AttachmentTable(KindTable):
    """A way to fix a fitting. height: from the face where it is fixed up to the fitting's root, such as the foot's thickness."""

    height: NonNegativeLength | None = None

    @abstractmethod
    def connection_under(self, stem: Footprint | None) -> Connection:
        """As it is checked, with the footprint on it where that is known; InputFault where it cannot be."""

    @property
    def default_height(self) -> float:
        """m, where none is given."""
        return 0.0

    @property
    def beam_radius(self) -> float:
        """m, from the axis of the round beam that it is fixed to out to its side; 0 where it is fixed to something else."""
        onto = getattr(self, "onto", None)
        return 0.0 if onto is None or onto.diameter is None else float(onto.diameter) / 2

    def design_variables(self) -> tuple[DesignVariable[AttachmentTable], ...]:
        """What of it can be raised, in the order in which that is tried."""
        return ()

    def remarks(self, part: str) -> Iterator[Remark]:  # noqa: ARG002  (kinds of metal use it)
        """What no margin says of it, as a fixing of that part."""
        yield from ()

    def to_attachment(self, stem: Footprint | None) -> Attachment:
        """As it is checked."""
        return Attachment(
            self.connection_under(stem), self.default_height if self.height is None else self.height
        )
