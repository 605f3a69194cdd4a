"""Tables of thin-walled sections: a shape with its measures, and what each part of it is made of.

Section axes: y to the right and z up, viewed from the beam's end (x towards the viewer). Measures are those over the outside of
the walls, or of their middle where `measured = "midline"`; an outline's points lie in the walls' middle.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from typing import Annotated, Literal

import numpy as np
from pydantic import Discriminator, Field, Tag

from femcore.base.errors import InputFault
from femcore.base.toml import Table
from femcore.base.units import Expansion, Unit, UnitVector
from femcore.files.section_file.materials import Name
from femcore.files.section_file.stock import WallMaterials, WallTable
from femcore.sections import (
    Section,
    Wall,
    WallRun,
    box,
    channel,
    d_section,
    i_section,
    joined,
    oval,
    round_tube,
    transformed,
)

Measured = Literal["outside", "midline"]
Positive = Annotated[float, Unit("m", above=0)]
Point = Annotated[tuple[float, float], UnitVector("m", 2)]


class ThinWalledSection(WallTable):
    """A thin-walled section. Its own laminate, or material and thickness, is the wall of every part that has none.

    angle     : by which the shape is turned, y towards z
    expansion : left out, that of the material where all walls are of one
    """

    angle: Annotated[float, Unit("rad")] = 0.0
    expansion: Expansion | None = None

    @abstractmethod
    def outline(self, wall_materials: WallMaterials, name: str) -> Section:
        """The section before it is turned; InputFault where it cannot be."""

    def section(self, wall_materials: WallMaterials, name: str) -> Section:
        """The section as placed in the beam; InputFault where it cannot be."""
        return transformed(self.outline(wall_materials, name), angle=self.angle)

    def of(self, wall_materials: WallMaterials, name: str, part: str, own: WallTable | None = None) -> Wall:
        """The wall of a part: its own, else the section's."""
        given = own if own is not None and own.is_given else self
        if not given.is_given:
            cure = "name a laminate, or a material with its thickness, for it or for the whole section"
            raise InputFault(name, f"has no wall for its {part}", cure)
        return wall_materials.wall(given, f"{name}: {part}" if given is own else name)

    def walls_of(self, wall_materials: WallMaterials, name: str, walls: Table, *parts: str) -> list[Wall]:
        """Of each part, as `of`, with its own table in `walls` where it has one."""
        return [self.of(wall_materials, name, part, getattr(walls, part)) for part in parts]


class ThinTube(ThinWalledSection):
    """A round tube."""

    shape: Literal["thin tube"]
    diameter: Positive
    measured: Measured = "outside"

    def outline(self, wall_materials: WallMaterials, name: str) -> Section:
        """The tube."""
        return round_tube(
            self.diameter, self.of(wall_materials, name, "wall"), measured=self.measured, name=name
        )


class Oval(ThinWalledSection):
    """An ellipse, `width` along y and `height` along z."""

    shape: Literal["oval"]
    width: Positive
    height: Positive
    measured: Measured = "outside"

    def outline(self, wall_materials: WallMaterials, name: str) -> Section:
        """The ellipse."""
        return oval(
            self.width, self.height, self.of(wall_materials, name, "wall"), measured=self.measured, name=name
        )


class BoxWalls(Table):
    """Walls of a box, where they differ: right is the +y side."""

    right: WallTable | None = None
    top: WallTable | None = None
    left: WallTable | None = None
    bottom: WallTable | None = None
    corners: WallTable | None = None


class ThinBox(ThinWalledSection):
    """A box, `width` along y and `height` along z; corner_radius : of the walls' middle."""

    shape: Literal["thin box"]
    width: Positive
    height: Positive
    corner_radius: Annotated[float, Unit("m", least=0)] = 0.0
    walls: BoxWalls = BoxWalls()
    measured: Measured = "outside"

    def outline(self, wall_materials: WallMaterials, name: str) -> Section:
        """The box."""
        sides = self.walls_of(wall_materials, name, self.walls, "right", "top", "left", "bottom")
        own = self.walls.corners
        corners = None if own is None else self.of(wall_materials, name, "corners", own)
        return box(
            self.width, self.height, sides, corner_radius=self.corner_radius, corner_wall=corners,
            measured=self.measured, name=name,
        )  # fmt: skip


class DWalls(Table):
    """Walls of a D, where they differ."""

    nose: WallTable | None = None
    web: WallTable | None = None


class DSection(ThinWalledSection):
    """Half an ellipse, its nose `width` towards +y, closed by a flat web of `height`."""

    shape: Literal["D"]
    width: Positive
    height: Positive
    walls: DWalls = DWalls()
    measured: Measured = "outside"

    def outline(self, wall_materials: WallMaterials, name: str) -> Section:
        """The D."""
        nose, web = self.walls_of(wall_materials, name, self.walls, "nose", "web")
        width, height = self.width, self.height
        if self.measured == "outside":
            width, height = width - (nose.thickness + web.thickness) / 2, height - nose.thickness
        return d_section(width, height, nose, web, name=name)


class FlangeWalls(Table):
    """Walls of a channel or I, where they differ."""

    flange: WallTable | None = None
    web: WallTable | None = None


class Channel(ThinWalledSection):
    """A channel open towards +y: flanges of `width`, a web of `height`."""

    shape: Literal["channel"]
    width: Positive
    height: Positive
    walls: FlangeWalls = FlangeWalls()
    measured: Measured = "outside"

    def outline(self, wall_materials: WallMaterials, name: str) -> Section:
        """The channel."""
        flange, web = self.walls_of(wall_materials, name, self.walls, "flange", "web")
        width, height = self.width, self.height
        if self.measured == "outside":
            width, height = width - web.thickness / 2, height - flange.thickness
        return channel(width, height, flange, web, name=name)


class ISection(ThinWalledSection):
    """An I: two flanges of `width`, a web between them, `height` over all."""

    shape: Literal["I"]
    width: Positive
    height: Positive
    walls: FlangeWalls = FlangeWalls()
    measured: Measured = "outside"

    def outline(self, wall_materials: WallMaterials, name: str) -> Section:
        """The I."""
        flange, web = self.walls_of(wall_materials, name, self.walls, "flange", "web")
        height = self.height - (flange.thickness if self.measured == "outside" else 0.0)
        return i_section(self.width, height, flange, web, name=name)


class OutlinePart(WallTable):
    """A chain of straight walls through `points`; it closes where the last point is the first again.

    Where parts meet they need a common point.
    """

    name: Name
    points: Annotated[list[Point], Field(min_length=2)]


class Outline(ThinWalledSection):
    """Any shape: chains of walls that meet at common points, of as many cells as they enclose."""

    shape: Literal["outline"]
    parts: Annotated[list[OutlinePart], Field(min_length=1)]

    def outline(self, wall_materials: WallMaterials, name: str) -> Section:
        """The outline."""
        runs = [
            WallRun(np.array(part.points), self.of(wall_materials, name, part.name, part), part.name)
            for part in self.parts
        ]
        return joined(runs, name)


THIN_WALLED_SHAPES = {
    "thin tube": ThinTube,
    "thin box": ThinBox,
    "oval": Oval,
    "D": DSection,
    "channel": Channel,
    "I": ISection,
    "outline": Outline,
}
"""Thin-walled shapes by name."""


def by_shape(shapes: Sequence[str], otherwise: str = "") -> Discriminator:
    """Tells tables apart by their shape; one that names none is taken for `otherwise`."""

    def shape_of(value: object) -> str:
        shape = value.get("shape") if isinstance(value, dict) else getattr(value, "shape", None)
        return otherwise if shape is None else str(shape)

    context: dict[str, int | str | float] = {
        "wrong": "has an unknown shape",
        "cure": f"use one of {', '.join(shapes)}",
    }
    return Discriminator(
        shape_of,
        custom_error_type="forebeam",
        custom_error_message="{wrong}; {cure}",
        custom_error_context=context,
    )


AnyThinWalled = Annotated[
    Annotated[ThinTube, Tag("thin tube")]
    | Annotated[ThinBox, Tag("thin box")]
    | Annotated[Oval, Tag("oval")]
    | Annotated[DSection, Tag("D")]
    | Annotated[Channel, Tag("channel")]
    | Annotated[ISection, Tag("I")]
    | Annotated[Outline, Tag("outline")],
    by_shape(tuple(THIN_WALLED_SHAPES)),
]
