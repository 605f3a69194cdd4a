"""Lines of a DXF drawing, text or binary, by ezdxf: lines, polylines, arcs, ellipses and splines of the model space.

Blocks are taken apart where they are inserted; what is on layer 0 of a block is on the layer of its insertion. Texts, dimensions
and hatches are no lines.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path

import numpy as np
from ezdxf.entities.arc import Arc
from ezdxf.entities.circle import Circle
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.ellipse import Ellipse
from ezdxf.entities.insert import Insert
from ezdxf.entities.line import Line
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.entities.spline import Spline
from ezdxf.filemanagement import readfile
from ezdxf.math import Vec3

from cases.input.stations.drawn_lines import DrawnLine, checked_size, limited
from femcore.base.errors import InputFault

# what it repairs or leaves out while reading is no message of ours
logging.getLogger("ezdxf").addHandler(logging.NullHandler())
LEAST_SPANS = 16
"""Of each span of a spline or an ellipse before chords are halved where they are too far: an S has its middle on its chord."""
DEEPEST_BLOCK = 10
MOST_CHORDS = 20_000
"""Of a curve: a hull's has some hundred."""


def dxf_lines(path: Path, chord: float) -> list[DrawnLine]:
    """Every line of the drawing, points (n, 3); curves within `chord`, in its units. InputFault where it cannot be read."""
    checked_size(path)
    try:
        return list(limited(_lines(readfile(path).modelspace(), "", chord, DEEPEST_BLOCK)))
    except InputFault as fault:
        raise fault.inside(str(path)) from None
    # a broken file makes ezdxf raise nearly anything, after its own classes IndexError, ValueError, KeyError
    except Exception as trouble:  # noqa: BLE001
        reason = (str(trouble).splitlines() or [type(trouble).__name__])[0]
    raise InputFault(str(path), f"cannot be read as DXF ({reason})", "save the drawing again as DXF")


def _lines(entities: Iterable[DXFEntity], inserted: str, chord: float, depth: int) -> Iterator[DrawnLine]:
    """Of entities in a block that is inserted on that layer, or "" for those of the model space."""
    for entity in entities:
        layer = str(entity.dxf.get("layer", "0"))
        layer = inserted if inserted and layer == "0" else layer
        if isinstance(entity, Insert):
            if depth == 0:
                raise ValueError("blocks within blocks without end")
            for one in entity.multi_insert() if entity.mcount > 1 else (entity,):
                yield from _lines(one.virtual_entities(), layer, chord, depth - 1)
        elif isinstance(entity, LWPolyline) or (
            isinstance(entity, Polyline) and (entity.is_2d_polyline or entity.is_3d_polyline)
        ):
            # arcs between its points are entities of their own; `body_plan` joins the pieces
            yield from _lines(entity.virtual_entities(), layer, chord, depth)
        elif points := list(islice(_points(entity, chord), MOST_CHORDS + 1)):
            # a spline with damaged knots has chords without end
            if len(points) > MOST_CHORDS:
                raise ValueError(f"a curve on layer {layer[:40]!r} has more than {MOST_CHORDS} chords")
            yield DrawnLine((layer,), np.array([(p.x, p.y, p.z) for p in points]))


def _points(entity: DXFEntity, chord: float) -> Iterable[Vec3]:
    """Along it, in world axes; none where it is no line."""
    if isinstance(entity, Line):
        return (entity.dxf.start, entity.dxf.end)
    if isinstance(entity, Arc | Circle):
        return entity.flattening(chord)
    if isinstance(entity, Ellipse | Spline):
        return entity.flattening(chord, LEAST_SPANS)
    return ()
