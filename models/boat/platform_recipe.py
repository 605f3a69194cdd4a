"""A platform as built (bulkheads, deck skins) idealised as transverse members: properties, end springs, range and scatter.

One beam for the whole deck fails: an open deck works by shear between its bulkheads and the aft beam, and two skins without
bulkheads are no torsion box. So there is a member at each bulkhead, and further members (the aft crossbeam) are as typed. The
rules were found for this project against shell finite elements on 30 platforms drawn at random; `tests/models/boat` has an
independent shell model that repeats the comparison. With b the clear width, h a bulkhead's depth, H the hull's:

1. web plus skins as flanges, 0.05 b to each side where there is deck, at most half the bay; GA = EI²/∫(ES)²/(G t) dz over the
   web; the skins' own plate bending is left out
2. a rigid arm from the hull's axis to its inboard side, at the height of the section's elastic centre
3. a spring at each end, k = c E t_d h², c = 0.15 + 0.28 (h/H)³, t_d of the hull's own diaphragm there
4. GJ of the deck by tributary width W: of each skin 4 D66 W, which is G t³W/3; of two skins with end webs besides the closed
   box 4 (W_e h_s)²/(Σ W_e/G t + Σ h_s/G t_w), W_e between the end bulkheads, h_s between skins, middle webs ignored
5. lateral EI and shear of the deck sheet, by tributary width too
6. the hulls' own beams twist as closed cells by Bredt (`models.boat.platform`)
7. no bulkhead and one skin: torsion only, no bending at the hulls' sides; no bulkhead and two skins: refused

For symmetric transverse bending (rig pull, hulls rolling opposite ways) the ends are rigid and the flanges 0.11 b to each side;
the frame has the members for racking, and springs in roll make up the difference (`models.boat.platform`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.sections import Wall
from models.boat.platform import PlatformMember

TWIST_SCATTER = 0.17
"""Of the recipe's φ per moment over that of shells, to either side. Two independent sets of shells: on 30 platforms +3 ± 5 %,
within ±12 %; on 40 others one skin +5 ± 3 %, two skins −10 ± 3 %, at most −16 %; with orthotropic walls −16 to +17 %."""
LEVEL_DECK_STIFFENS = 0.30
"""At most so much too large is the recipe's φ where one skin is level with the hulls' deck, which goes on as its flange."""
CENTRE_SCATTER = 0.3
"""m, of the twist centre, likewise."""
DOORS_SOFTEN = 0.25
"""Of φ, one-sided: one pair of openings of 0.8 × 0.8 m in the main bulkhead raised it by 13 to 21 %."""
DOOR_TRIED = 0.8
"""m, breadth and height of the openings tried."""
SYMMETRIC_SCATTER = (-0.38, 0.20)
"""Of the symmetric flexibility in roll, of the recipe over that of shells. Two sets of these: −2 to −5 %, at most ±19 %; and, for
equal moments at every bulkhead of 14 platforms, −13 ± 13 %, from −38 to +15 %."""

SPACING_TRIED = (5.0, 8.0)
"""m, between the hulls' centrelines."""
DECK_LENGTH_TRIED = (3.8, 6.4)
"""m, fore and aft."""
BULKHEADS_TRIED = (2, 3)
DEPTH_TRIED = (0.4, 0.95)
"""Of the hull's depth, the bulkheads' beside it."""
LOW_BOX_CENTRE = 0.9
"""m, by which the recipe's twist centre came out too far aft at most, of low boxes without tall webs."""
WALL_THICKNESS_TRIED = (8e-3, 18e-3)
"""m, of bulkheads and diaphragms of one material."""
SKIN_THICKNESS_TRIED = (3e-3, 9e-3)
"""m, of the deck's skins of that material. All walls k times as thick turn 1/k times as much (membrane stress; shells of the
tests), so what is in range are ratios, and of other materials those of E t."""
DIAPHRAGM_OVER_BULKHEAD_TRIED = (
    WALL_THICKNESS_TRIED[0] / WALL_THICKNESS_TRIED[1],
    WALL_THICKNESS_TRIED[1] / WALL_THICKNESS_TRIED[0],
)
SKIN_OVER_BULKHEAD_TRIED = (
    SKIN_THICKNESS_TRIED[0] / WALL_THICKNESS_TRIED[1],
    SKIN_THICKNESS_TRIED[1] / WALL_THICKNESS_TRIED[0],
)
STRETCH_OVER_SHEAR_TRIED = (1.4, 7.5)
"""E/G of bulkheads, diaphragms and skins along the member: from double-bias to plywood, isotropic 2.6."""
ALONG_OVER_ACROSS_TRIED = (0.5, 2.0)
"""E along the member over E across it, of the same."""
REL_TOL_TRIED = 0.02
"""Of a limit of the range tried: a value beyond it by no more than this is within."""
ABS_TOL_LEVEL = 1e-3
"""m: places nearer than this are one."""
LEVEL_DECK = 0.05
"""m: a skin is level with the hulls' deck within this. φ over shells, one platform: +26 % at 0, +12 % at 50, +9 % at 100 mm."""

JOINT_CONSTANT, JOINT_CUBIC = 0.15, 0.28
"""c = 0.15 + 0.28 (h/H)³ of a bulkhead's end spring, fitted; ±40 % in the spring moves φ by 6 %."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A wall in its plane, x along the member (athwart), and its stiffness against being twisted.

    stretch   : N/m along the member, free across, E t;   stretch_across : N/m, likewise across it
    shear     : N/m, G t;   twist : N·m, D66, G t³/12;   bend : N·m, D11
    thickness : m, without a core
    """

    stretch: float
    stretch_across: float
    shear: float
    twist: float
    bend: float
    thickness: float

    @classmethod
    def of_wall(cls, wall: Wall, *, along: bool) -> Sheet:
        """Of a wall whose laminate's x runs along the member, or across it (a deck's, fore and aft)."""
        order = [0, 1, 2] if along else [1, 0, 2]
        A, D = (matrix[np.ix_(order, order)] for matrix in (wall.membrane, wall.bending))
        plies = wall.laminate.plies if wall.laminate is not None else ()
        solid = sum(ply.thickness for ply in plies if ply.core is None) if plies else wall.thickness
        return cls(
            stretch=float(A[0, 0] - A[0, 1] ** 2 / A[1, 1]),
            stretch_across=float(A[1, 1] - A[0, 1] ** 2 / A[0, 0]),
            shear=float(A[2, 2] - A[1, 2] ** 2 / A[1, 1]),
            twist=float(D[2, 2]),
            bend=float(D[0, 0]),
            thickness=float(solid),
        )


@dataclass(frozen=True, slots=True)
class Bulkhead:
    """A transverse web between the hulls, from `bottom` to `top` (heights, m), and the hull's own diaphragm at its station.

    station : m, x ≤ 0;   doors : (breadth, height) of each opening, m, on both sides of the boat together
    """

    name: str
    station: float
    bottom: float
    top: float
    web: Sheet
    diaphragm: Sheet
    doors: tuple[tuple[float, float], ...] = ()

    @property
    def depth(self) -> float:
        """m."""
        return self.top - self.bottom


@dataclass(frozen=True, slots=True)
class Skin:
    """A deck between the hulls at `height`, from x = `aft` to `forward`, m."""

    height: float
    aft: float
    forward: float
    sheet: Sheet

    def reaches(self, station: float) -> bool:
        """Whether there is deck at a station."""
        return self.aft - ABS_TOL_LEVEL <= station <= self.forward + ABS_TOL_LEVEL


@dataclass(frozen=True, slots=True)
class Idealisation:
    """How far skins act as a bulkhead's flanges, of the clear width to each side, and whether the ends are rigid."""

    flange_reach: float
    rigid_ends: bool


RACKING = Idealisation(0.05, rigid_ends=False)
SYMMETRIC = Idealisation(0.11, rigid_ends=True)


@dataclass(frozen=True, slots=True)
class PlatformAsBuilt:
    """A platform as built, m, boat axes.

    spacing, inboard       : between the hulls' axes; from an axis to its inboard side
    hull_bottom, hull_deck : heights of a hull's keel and deck there
    beams                  : further members, as they are typed: the aft crossbeam
    """

    spacing: float
    inboard: float
    hull_bottom: float
    hull_deck: float
    bulkheads: tuple[Bulkhead, ...]
    skins: tuple[Skin, ...] = ()
    beams: tuple[PlatformMember, ...] = ()

    def __post_init__(self) -> None:
        """InputFault where the recipe has no members for it."""
        for fault in (*self._faults(), *self._faults_of_heights()):
            raise fault

    def _faults(self) -> Iterator[InputFault]:
        if not self.bulkheads and len(self.skins) > 1:
            yield InputFault(
                "platform",
                "has two skins and no bulkhead, which twists about eight times as much as a torsion box",
                "give the bulkheads that close it, or its members by their stiffness",
            )
        if not self.bulkheads and all(beam.end_spring == 0 for beam in self.beams):
            yield InputFault(
                "platform",
                "has no bulkhead and no further member that is fixed in vertical bending, so that each hull rolls freely",
                "give a bulkhead, or the aft crossbeam under members",
            )
        if self.width <= 0:
            cure = f"give less than {self.spacing / 2:g} m, half the spacing"
            yield InputFault("platform: inboard", "reaches the centreline", cure)
        stations = [one.station for one in self.bulkheads]
        if len(set(stations)) < len(stations):
            yield InputFault(
                "platform", "has two bulkheads at one station", "give one, of both thicknesses together"
            )
        names = [*(one.name for one in self.bulkheads), *(one.name for one in self.beams)]
        if len(set(names)) < len(names):
            yield InputFault(
                "platform", "has two bulkheads or members of one name", "give each a name of its own"
            )

    def _faults_of_heights(self) -> Iterator[InputFault]:
        for one in self.bulkheads:
            if self.depth_in_hull(one) <= 0:
                yield InputFault(
                    f"platform: bulkhead '{one.name}'",
                    f"is above or below the hulls, which are from {self.hull_bottom:g} to {self.hull_deck:g} m",
                    "give heights of which some are between the hulls' bottom and deck",
                )
            for skin in self.skins:
                level = one.bottom - ABS_TOL_LEVEL <= skin.height <= one.top + ABS_TOL_LEVEL
                if skin.reaches(one.station) and not level:
                    yield InputFault(
                        f"platform: skin at {skin.height:g} m",
                        f"is off bulkhead '{one.name}', which is from {one.bottom:g} to {one.top:g} m",
                        "give the height at which it is bonded to the bulkhead, or end it short of the bulkhead",
                    )

    @property
    def width(self) -> float:
        """m, clear between the hulls' inboard sides, b."""
        return self.spacing - 2 * self.inboard

    def depth_in_hull(self, one: Bulkhead) -> float:
        """m, of a bulkhead, what of its depth is beside the hull."""
        return min(one.top, self.hull_deck) - max(one.bottom, self.hull_bottom)

    def end_spring(self, one: Bulkhead) -> float:
        """N·m/rad, rule 3: of a bulkhead's end on the hull's diaphragm."""
        depth = self.depth_in_hull(one)
        c = JOINT_CONSTANT + JOINT_CUBIC * (depth / (self.hull_deck - self.hull_bottom)) ** 3
        return c * one.diaphragm.stretch * depth**2

    def members(self, how: Idealisation = RACKING) -> list[PlatformMember]:
        """A member at each bulkhead (or, without one, at the middle of the deck), then the further ones as typed."""
        GJ = self._deck_torsion()
        if not self.bulkheads:
            return [*(self._deck_alone(skin, float(GJ[0])) for skin in self.skins), *self.beams]
        made = [self._member(one, own, how) for one, own in zip(self.bulkheads, GJ, strict=True)]
        return [*made, *self.beams]

    def _member(self, one: Bulkhead, deck_GJ: float, how: Idealisation) -> PlatformMember:
        flanges = [(skin, self._flange(skin, one.station, how)) for skin in self.skins]
        EA, height, EI, GA = web_and_flanges(
            one.bottom, one.top, one.web, [(skin.height, skin.sheet.stretch * w) for skin, w in flanges]
        )
        lateral, shear = self._deck_sheet(one)
        return PlatformMember(
            name=one.name, station=one.station, height=height, inboard=self.inboard,
            end_roll=None if how.rigid_ends else self.end_spring(one),
            EA=EA, EI_vertical=EI, GA_vertical=GA,
            EI_lateral=one.web.bend * one.depth + lateral, GA_lateral=5 / 6 * one.web.shear * one.depth + shear,
            GJ=4 * one.web.twist * one.depth + deck_GJ,
        )  # fmt: skip

    def _deck_alone(self, skin: Skin, GJ: float) -> PlatformMember:
        """Rule 7: one skin that no bulkhead stiffens passes torsion, and in its plane what a sheet does."""
        length = skin.forward - skin.aft
        return PlatformMember(
            name="deck", station=(skin.aft + skin.forward) / 2, height=skin.height, inboard=self.inboard, end_roll=0.0,
            EA=skin.sheet.stretch * length, EI_vertical=skin.sheet.bend * length,
            EI_lateral=skin.sheet.stretch * length**3 / 12, GA_lateral=5 / 6 * skin.sheet.shear * length, GJ=GJ,
        )  # fmt: skip

    def _flange(self, skin: Skin, station: float, how: Idealisation) -> float:
        """m, breadth of a skin that acts as flange of the bulkhead at a station."""
        if not skin.reaches(station):
            return 0.0
        others = np.array([*(one.station for one in self.bulkheads), *(one.station for one in self.beams)])
        bays = [np.abs(others[side] - station) for side in (others < station, others > station)]
        deck = station - skin.aft, skin.forward - station
        most = how.flange_reach * self.width
        return sum(
            max(min(most, to_edge, float(bay.min(initial=np.inf)) / 2), 0.0)
            for bay, to_edge in zip(bays, deck, strict=True)
        )

    def _tributary(self, skin: Skin) -> FloatArray:
        """(bulkheads,), m: the length of a skin that is nearest to each; without bulkheads all of it."""
        if not self.bulkheads:
            return np.array([skin.forward - skin.aft])
        x = np.array([one.station for one in self.bulkheads])
        order = np.argsort(x)
        edges = np.concatenate([[-np.inf], (x[order][1:] + x[order][:-1]) / 2, [np.inf]])
        lengths = np.empty(len(x))
        lengths[order] = np.diff(np.clip(edges, skin.aft, skin.forward))
        return lengths

    def _deck_torsion(self) -> FloatArray:
        """(bulkheads,), N·m², the deck's GJ by tributary length."""
        lengths = [self._tributary(skin) for skin in self.skins]
        GJ = np.zeros(max(len(self.bulkheads), 1))
        for skin, own in zip(self.skins, lengths, strict=True):
            GJ += 4 * skin.sheet.twist * own
        if len(self.skins) == 2 and lengths[0].sum() > 0:
            GJ += self._box() * lengths[0] / lengths[0].sum()
        return GJ

    def _box(self) -> float:
        """N·m², of the closed cell of two skins and the outermost bulkheads that both reach, by Bredt."""
        ends = [one for one in self.bulkheads if all(skin.reaches(one.station) for skin in self.skins)]
        if len(ends) < 2:
            return 0.0
        ordered = sorted(ends, key=lambda one: one.station)
        first, last = ordered[0], ordered[-1]
        length = last.station - first.station
        between = abs(self.skins[0].height - self.skins[1].height)
        round_it = sum(length / skin.sheet.shear for skin in self.skins)
        round_it += sum(between / one.web.shear for one in (first, last))
        return 4 * (length * between) ** 2 / round_it

    def _deck_sheet(self, one: Bulkhead) -> tuple[float, float]:
        """(EI, N·m²; GA, N) of the skins in their plane, this bulkhead's share."""
        number, EI, GA = self.bulkheads.index(one), 0.0, 0.0
        for skin in self.skins:
            length, own = skin.forward - skin.aft, float(self._tributary(skin)[number])
            EI += skin.sheet.stretch * length**2 * own / 12
            GA += 5 / 6 * skin.sheet.shear * own
        return EI, GA

    @property
    def doors(self) -> list[Bulkhead]:
        """The bulkheads with openings."""
        return [one for one in self.bulkheads if one.doors]

    @property
    def level_with_deck(self) -> bool:
        """Whether its one skin is at the height of the hulls' deck."""
        return len(self.skins) == 1 and abs(self.skins[0].height - self.hull_deck) <= LEVEL_DECK

    @property
    def twist_range(self) -> tuple[float, float]:
        """Factors on φ per moment between which shells found it, within the recipe's range."""
        over = LEVEL_DECK_STIFFENS if self.level_with_deck else TWIST_SCATTER
        return 1 / (1 + over), 1 / (1 - TWIST_SCATTER) * (1 + DOORS_SOFTEN if self.doors else 1.0)

    def outside(self) -> Iterator[str]:
        """What of it is outside the range that was tried, each in words."""
        yield from _beyond("hulls' spacing", [self.spacing], SPACING_TRIED, "m")
        yield from _beyond("deck's length", [s.forward - s.aft for s in self.skins], DECK_LENGTH_TRIED, "m")
        if not BULKHEADS_TRIED[0] <= len(self.bulkheads) <= BULKHEADS_TRIED[1]:
            count = len(self.bulkheads)
            yield f"{count or 'no'} bulkhead{'s' * (count > 1)} (tried: 2 and 3)"
        if self.bulkheads and not self.skins:
            yield "bulkheads without a deck"
        depths = [self.depth_in_hull(b) / (self.hull_deck - self.hull_bottom) for b in self.bulkheads]
        yield from _beyond("bulkheads' depth over the hull's", depths, DEPTH_TRIED, "")
        if min(depths, default=1.0) < DEPTH_TRIED[0] / (1 + REL_TOL_TRIED):
            yield f"so low a platform's twist centre came out up to {LOW_BOX_CENTRE:g} m too far aft"
        if any(
            b.top > self.hull_deck + ABS_TOL_LEVEL or b.bottom < self.hull_bottom - ABS_TOL_LEVEL
            for b in self.bulkheads
        ):
            yield "bulkheads that go on above or below the hulls"
        yield from self._walls_outside()

    def _walls_outside(self) -> Iterator[str]:
        """The same of walls and openings."""
        pairs = [(one.web.stretch, one.diaphragm.stretch) for one in self.bulkheads]
        skins = [skin.sheet for skin in self.skins]
        sheets = [*skins, *(one.web for one in self.bulkheads), *(one.diaphragm for one in self.bulkheads)]
        for words, values, tried in (
            (
                "E t of a diaphragm over its bulkhead's",
                [d / w for w, d in pairs],
                DIAPHRAGM_OVER_BULKHEAD_TRIED,
            ),
            (
                "E t of a skin over a bulkhead's",
                [s.stretch / w for w, _ in pairs for s in skins],
                SKIN_OVER_BULKHEAD_TRIED,
            ),
            ("E/G of a wall", [sheet.stretch / sheet.shear for sheet in sheets], STRETCH_OVER_SHEAR_TRIED),
            (
                "E of a wall along over across",
                [s.stretch / s.stretch_across for s in sheets],
                ALONG_OVER_ACROSS_TRIED,
            ),
        ):
            yield from _beyond(words, values, tried, "")
        for one in self.doors:
            if max(max(door) for door in one.doors) > DOOR_TRIED + ABS_TOL_LEVEL or len(one.doors) > 2:
                yield f"openings in bulkhead '{one.name}' beyond one pair of 0.8 × 0.8 m"

    def remarks(self) -> Iterator[str]:
        """A sentence each: where the members come from, with scatter, what is outside the range, doors, symmetric loads."""
        yield (
            "The platform's members are idealised from bulkheads and skins; against shell finite elements φ per moment "
            f"scattered by ±{100 * TWIST_SCATTER:.0f} %, the twist centre by ±{CENTRE_SCATTER:g} m."
        )
        if self.level_with_deck:
            yield (
                "The one skin is level with the hulls' deck, which goes on as its flange: φ per moment is up to "
                f"{100 * LEVEL_DECK_STIFFENS:.0f} % too large."
            )
        yield "Not tried: cabin sides, fore-and-aft webs between bulkheads, a hull without a bulkhead of its own at each of them."
        outside = "; ".join(self.outside())
        if outside:
            yield f"The platform is outside the range in which that was found: {outside}. Its scatter is not known."
        for one in self.doors:
            yield (
                f"Openings in bulkhead '{one.name}' are not in the members: allow 0 to +{100 * DOORS_SOFTEN:.0f} % on φ per "
                "moment, one-sided."
            )
        low, high = SYMMETRIC_SCATTER
        yield (
            "Under loads alike on both sides the members are as stiff as the recipe's for symmetric transverse bending, by "
            "springs in roll between the hulls; against shell finite elements the flexibility of those was off by "
            f"−{-100 * low:.0f} to +{100 * high:.0f} %."
        )


def web_and_flanges(
    bottom: float, top: float, web: Sheet, flanges: Sequence[tuple[float, float]]
) -> tuple[float, float, float, float]:
    """EA (N), height of the elastic centre (m), EI (N·m²) and GA (N) of a web with flanges (height, m; EA, N) on it.

    GA = EI²/∫(ES)²/(G t) dz over the web (energy of the shear flow of beam theory; exact for this section).
    """
    depth, levels = top - bottom, np.array([z for z, _ in flanges])
    own = np.array([EA for _, EA in flanges])
    EA = web.stretch * depth + own.sum()
    centre = (
        float((web.stretch * depth * (top + bottom) / 2 + own @ levels) / EA)
        if len(own)
        else (top + bottom) / 2
    )
    EI = web.stretch * (depth**3 / 12 + depth * ((top + bottom) / 2 - centre) ** 2)
    EI += float(own @ (levels - centre) ** 2)
    stops = np.unique(np.clip([bottom, top, *levels], bottom, top))
    points, weights = np.polynomial.legendre.leggauss(3)  # exact: the square of a parabola between flanges
    half = np.diff(stops)[:, None] / 2
    z = (stops[:-1, None] + half * (1 + points)).ravel()
    ES = web.stretch * ((top - centre) ** 2 - (z - centre) ** 2) / 2
    if len(own):
        ES = ES + (levels > z[:, None]) @ (own * (levels - centre))
    energy = float((half * weights).ravel() @ (ES**2 / web.shear))
    return float(EA), centre, EI, EI**2 / energy


def _beyond(words: str, values: Sequence[float], tried: tuple[float, float], unit: str) -> Iterator[str]:
    """The value furthest beyond a range, in words."""
    low, high = tried
    off = [value for value in values if not low / (1 + REL_TOL_TRIED) <= value <= high * (1 + REL_TOL_TRIED)]
    if off:
        worst = max(off, key=lambda value: max(low / value, value / high))
        of = f" {unit}" if unit else ""
        yield f"{words} {worst:.3g}{of} (tried: {low:.2g} to {high:.2g}{of})"
