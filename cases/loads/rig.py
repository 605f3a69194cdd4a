"""The forestay's pull on the crossbeam: up, aft, and torque where the stay's line misses the beam's axis."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import PrivateAttr, field_validator, model_validator

from cases.loads.base import LoadCase, PlaceLoad, Vector, at, degrees, exactly_one
from cases.loads.origin import LoadBasis, Origin
from cases.loads.pull import Angle, Pull, Tension, checked_angle
from cases.loads.sag import MAX_STAY_SAG_RATIO, SaggingStay, StayLine, sagging_stay_line
from cases.loads.tension import TensionEstimate, TensionRange
from femcore.base.errors import InputFault, fault
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat

LoadPerLength = Annotated[float, Unit("N/m", most=1e5)]


class Rig(LoadCase):
    """A stay raked aft of vertical by `rake`, at the boat's stay place; its tension, along its chord, entered or estimated.

    pretension : N, before any wind: a case of its own, and the least that an estimate is taken as
    side_load, aft_load : N/m, of the headsail on the stay over its `length` (m, of the chord), to port and aft in the
                 stay's own plane; half of each is at the foot a pull square to the chord
    inner      : further stays and their places
    """

    from_boat: ClassVar[Mapping[str, str]] = {
        "estimate.displacement": "displacement",
        "estimate.rig_height": "rig_height",
    }
    kind: Literal["rig"] = "rig"
    tension: Tension | None = None
    estimate: TensionEstimate | None = None
    rake: Angle
    pretension: Tension | None = None
    side_load: LoadPerLength = 0.0
    aft_load: LoadPerLength = 0.0
    length: Annotated[float, Unit("m", above=0, most=1000.0)] | None = None
    inner: list[Pull] = []
    _tension_range: TensionRange | None = PrivateAttr(None)

    @classmethod
    def keys_from_boat(cls, given: Mapping[str, Any]) -> Mapping[str, str]:
        """Of an estimate, as far as it does not give righting moment and heights itself."""
        estimate = given.get("estimate")
        if not isinstance(estimate, dict):
            return {}
        instead = {
            "estimate.displacement": {"righting_moment"},
            "estimate.rig_height": {"hoist", "freeboard"},
        }
        return {key: of for key, of in cls.from_boat.items() if not instead[key] & estimate.keys()}

    @field_validator("rake")
    @classmethod
    def _check_rake(cls, rake: float) -> float:
        return checked_angle("rake", rake)

    @model_validator(mode="after")
    def _check_inputs(self) -> Rig:
        exactly_one(self, "tension", "estimate")
        if (self.side_load or self.aft_load) and self.length is None:
            key = "side_load" if self.side_load else "aft_load"
            raise fault(
                f"has {'an' if key[0] == 'a' else 'a'} {key} on a stay of no length",
                'give the stay\'s length, such as length = "15 m"',
            )
        if self.tension is not None and (wrong := self._check_sag(self.tension)) is not None:
            raise fault(*wrong)
        return self

    def _check_sag(self, tension: float) -> tuple[str, str] | None:
        """What is wrong, and its cure, where the load bows the stay further than a stay is bowed."""
        load = math.hypot(self.side_load, self.aft_load) * (self.length or 0.0)
        if load <= 8 * MAX_STAY_SAG_RATIO * tension:
            return None
        bowed = f"{load / (8 * tension):.2g} times its span" if tension else "without end"
        keys = " and ".join(key for key in ("side_load", "aft_load") if getattr(self, key))
        wrong = (
            f"{keys} would bow out a stay of {engineering(tension, 'N')} by {bowed}, where 1/8 is the limit"
        )
        return (
            wrong,
            f"give it more than {engineering(load / (8 * MAX_STAY_SAG_RATIO), 'N')} of tension, or less {keys}",
        )

    @property
    def tension_range(self) -> TensionRange | None:
        """The estimates that the tension was taken from; None where it was entered, or before `expand`."""
        return self._tension_range

    @property
    def stay_tension(self) -> float:
        """N, before `scale`; ValueError where it is still to be estimated, which `expand` does."""
        if self.tension is None:
            raise ValueError(f"the tension of '{self.name}' is estimated for a boat: expand the case first")
        return self.tension

    @property
    def sagging_stay(self) -> SaggingStay:
        """The stay as it hangs, before `scale`, which changes no shape."""
        tension = self.stay_tension
        per_load = (self.length or 0.0) / (8 * tension) if tension else 0.0
        return SaggingStay(tension, self.rake, self.aft_load * per_load, self.side_load * per_load)

    @property
    def pull(self) -> Vector:
        """N, boat axes, on the foot, before `scale`: T (−sin ρ, 0, cos ρ), and half of the sail's load."""
        return self.sagging_stay.pull

    @property
    def sag(self) -> float | None:
        """m: w L²/(8 T), how far the sail bows the stay out; None where it does not."""
        sag = self.sagging_stay.sag * (self.length or 0.0)
        return sag or None

    def expand(self, boat: Boat) -> list[LoadCase]:
        """With its tension known; and, where a pretension is given, the rig at rest. InputFault where no tension is found."""
        sailing = self
        if self.estimate is not None:
            tension_range = self.estimate.tension_range(boat.bows.spacing, self.rake)
            tension = max(tension_range.used_tension, self.pretension or 0.0)
            if (wrong := self._check_sag(tension)) is not None:
                raise InputFault("rig", *wrong)
            sailing = self.model_copy(update={"tension": tension, "estimate": None, "pretension": None})
            sailing._tension_range = tension_range  # noqa: SLF001  (its own class)
        if self.pretension is None:
            return [sailing]
        pretension_only = {
            "name": f"{self.name}, pretension alone",
            "tension": self.pretension,
            "estimate": None,
            "side_load": 0.0,
            "aft_load": 0.0,
            "scale": 1.0,
        }
        pretension_only |= {"pretension": None, "inner": [], "also": [], "line": []}
        return [sailing.model_copy(update={"pretension": None}), self.model_copy(update=pretension_only)]

    def loads(self) -> list[PlaceLoad]:
        """The pull at the stay attachment, and those of inner stays."""
        along_x, to_port, along_z = self.pull
        found = [at("stay", (along_x, 0.0, along_z), name="stay")]
        if to_port:
            found.append(at("stay", (0.0, to_port, 0.0), name="side load at the stay's foot"))
        return [*found, *(stay.label("inner stay", len(self.inner)) for stay in self.inner)]

    def origin(self) -> Origin:
        """The tension as entered or estimated; sag by the parabola."""
        formula = f"T (−sin ρ, 0, cos ρ), T = {engineering(self.stay_tension, 'N')}, ρ = {degrees(self.rake)}"
        source = "entered"
        basis: LoadBasis = "entered"
        if (tension_range := self._tension_range) is not None:
            methods = "; ".join(f"{one.method}: {one.source}" for one in tension_range.estimates)
            source, basis = f"estimated, {tension_range.choice} of {methods}", "estimated"
        if self.sag is None:
            return Origin(source, formula, basis=basis)
        sag = f"{100 * self.sagging_stay.sag:.2g} %"
        return Origin(
            f"{source}; sag by statics of a line under uniform load (H.M. Irvine, Cable Structures, 1981)",
            f"{formula}; w L/2 square to it at the foot, s = w L²/8T = {sag} of L",
            f"s up to 1/8 of L; here {sag}",
            inside=True,
            basis=basis,
        )

    def what(self) -> str:
        """In one line."""
        raked = f"raked {math.degrees(self.rake):.3g}° aft of vertical"
        if self.tension is None:
            return f"stay at an estimated tension, {raked}"
        words = f"stay at {engineering(self.tension, 'N')}, {raked}"
        if (tension_range := self._tension_range) is not None:
            words += f" ({tension_range.words(self.tension)})"
        if self.sag is not None:
            words += f", bowed out {self._sag_text()} by the headsail"
        return words + ("" if not self.inner else f", with {len(self.inner)} inner")

    def _sag_text(self) -> str:
        """How far, in words: aft or forward, to port or starboard."""
        sagging_stay, length = self.sagging_stay, self.length or 0.0
        ways = ((sagging_stay.aft, "aft", "forward"), (sagging_stay.side, "to port", "to starboard"))
        return " and ".join(
            f"{engineering(abs(part) * length, 'm')} {one if part > 0 else other}"
            for part, one, other in ways
            if part
        )


def stay_line(rig: Rig, forward: float, up: float) -> StayLine:
    """The geometry of its stay, attached `forward` of and `up` from the shear centre, m; forces as scaled."""
    return sagging_stay_line(rig.sagging_stay, forward, up, rig.scale)


__all__ = ["Rig", "StayLine", "stay_line"]
