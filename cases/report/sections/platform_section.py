"""What the bows are fixed to: the platform's twist centre and stiffness beside the closed form, or the limits of root springs."""

from __future__ import annotations

from collections.abc import Iterator

from cases.analyses.analysis import Analysis
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import Cell, Column, Table
from models.boat.platform import Platform
from models.boat.platform_recipe import CENTRE_SCATTER
from models.response.platform_frame import PlatformResponse

ROOT_LIMITS = (
    (
        "The file gives springs at the roots of the bows in place of a platform. Their twist centre is at the main bulkhead, "
        "where a platform's is usually metres aft of it: a pitch spring there with heave held, of the platform's own twist per "
        "moment, shows 0.71 to 0.88 of the movement of a beam ahead, and 0.41 to 0.83 where forces at the stems twist it "
        "(30 random platforms against shell finite elements, worked for this project). Attracted torque and bending are then too "
        "small by as much."
    ),
    (
        "Symmetric and antisymmetric loads meet the same springs; between the hulls of a boat, roll and yaw of a root are up to "
        "three times stiffer where both hulls move alike than where they move apart. Describe a [platform] where it is known."
    ),
)
"""What a boat on root springs does not show."""


def platform_section(study: Study, _: Analysis) -> ReportSection:
    """Always there: every boat's bows are fixed to something."""
    platform, response = study.file.platform, study.platform
    if platform is None or response is None:
        return ReportSection("platform", "The platform", list(ROOT_LIMITS))
    return ReportSection(
        "platform",
        "The platform",
        list(_sentences(study, platform, response)),
        tables=[twist(study, response), members(study, platform, response), springs(response)],
        aside=(
            "“Closed form”: 1/k = b³/12EI + b/GA + b²/2k_end + s²|x − x_c|/2GJ_hull, x_c = Σ k x/Σ k, twist per moment = "
            "1/2[Σ k (x − x_c)² + Σ GJ/b]; bending of the hulls between members and the hulls' height off the members' are left "
            "out of it, and the frame has both. “Rigid hulls”: its first term alone."
        ),
    )


def _sentences(study: Study, platform: Platform, response: PlatformResponse) -> Iterator[str]:
    bows, station = study.file.bows, study.file.crossbeam.station
    aft, hand = -response.twist_centre, -response.hand.twist_centre
    per = 1e3 * response.twist_per_moment
    yield (
        f"Racking turns one hull against the other about a twist centre {words.number(aft, 2)} m aft of the main bulkhead"
        f"{study.file.estimates.mark('platform')}; "
        f"1 kN·m on each hull turns each by {words.quantity(per, 'rad')}. The closed form gives {words.number(hand, 2)} m and "
        f"{words.quantity(1e3 * response.hand.twist_per_moment, 'rad')}."
    )
    if platform.twist_range:
        low, high = (1e3 * response.twist_per_moment * factor for factor in platform.twist_range)
        doors = ", openings in bulkheads allowed for one-sided" if platform.has_doors else ""
        yield (
            "The members are made of the platform as built. Against shell finite elements, within the range of platforms tried, "
            f"that turn was between {words.quantity(low, 'rad')} and {words.quantity(high, 'rad')}{doors}, and the twist centre "
            f"within {CENTRE_SCATTER:g} m."
        )
    yield (
        f"Opposite forces at the stems have a lever of {words.number(bows.length + aft, 2)} m to it. A pitch spring at the "
        f"bulkhead of the same twist per moment would show {words.percent(response.spring_share(station))} of the movement "
        "at the crossbeam."
    )
    yield (
        "The boat is held nowhere, so loads that are not in equilibrium are balanced: heave and pitch by equal forces and "
        "moments on both hulls at the main bulkhead, where mast and shrouds act, surge and yaw by fore-and-aft forces there, "
        f"sway at the middle of {words.name_of(platform.foremost.name)}, and roll by vertical forces on both hulls at the twist "
        "centre. Movements are relative to these places. What acts at the roots in the load paths is the hulls' own section "
        "force."
    )
    if study.file.longeron is not None:
        yield (
            "The longeron ends amidships on the member at the bulkhead and moves with it, but turns there in pitch as the hulls "
            "do: deck and stringers that back the bulkhead are taken to be there (common practice) and are in no check."
        )
    symmetric = [words.name_of(one.case.name) for one in study.joints[0].cases if one.shares is None]
    recipe = response.symmetric_recipe_roll
    if recipe is not None:
        yield (
            "In symmetric bending, as under the stay's pull, the members have the stiffness of the recipe's own symmetric ones: "
            "springs in roll between the hulls, which racking does not strain, make up the difference. Roots rolled apart have "
            f"{words.quantity(response.symmetric_roll, 'N·m/rad')} in the frame, {words.quantity(recipe, 'N·m/rad')} with the "
            "symmetric members in place of the others."
        )
    elif symmetric:
        yield (
            f"Cases that do not rack the bows ({', '.join(symmetric)}) meet the members as entered for racking; for symmetric "
            "bending a deck works with more of its breadth and bulkheads are held more firmly in the hulls, so these cases are "
            "outside the range of members that were found for racking."
        )


def twist(study: Study, response: PlatformResponse) -> Table:
    """Twist centre and twist, in the frame and by the closed form."""
    rigid = study.rigid_hull_formula
    rows: list[tuple[Cell, ...]] = [
        ("frame", response.twist_centre, 1 / response.twist_per_moment),
        ("closed form", response.hand.twist_centre, 1 / response.hand.twist_per_moment),
    ]
    if rigid is not None:
        rows.append(("closed form, rigid hulls", rigid.twist_centre, 1 / rigid.twist_per_moment))
    columns = (
        Column("by"),
        Column("twist centre", "m", "ahead of the bulkhead"),
        Column("moment per twist", "N·m/rad", "on each hull"),
    )
    return Table("platform", "Twist centre and torsional stiffness of the platform", columns, tuple(rows))


def members(study: Study, platform: Platform, response: PlatformResponse) -> Table:
    """The members, and the share of the twisting moment that each takes by the closed form."""
    hand, width = response.hand, platform.clear_width(study.file.bows)
    rows: list[tuple[Cell, ...]] = []
    for member, k, b in zip(platform.members, hand.shear_stiffness.values(), width, strict=True):
        by_shear = 2 * hand.twist_per_moment * k * (member.station - hand.twist_centre) ** 2
        by_torsion = 2 * hand.twist_per_moment * member.GJ / float(b)
        rows.append(
            (
                member.name, member.station, member.height, float(b), member.EI_vertical, member.EI_lateral, member.GJ,
                member.EA, member.GA_vertical, member.end_spring, k, by_shear, by_torsion,
            )
        )  # fmt: skip
    columns = (
        Column("member"), Column("station", "m"), Column("height", "m"), Column("clear width", "m"),
        Column("EI", "N·m²", "vertical bending"), Column("EI", "N·m²", "lateral bending"), Column("GJ", "N·m²", spring=True),
        Column("EA", "N"), Column("GA", "N", "vertical shear"), Column("end spring", "N·m/rad", "in roll", spring=True),
        Column("k", "N/m", "by hand"), Column("by shear", "1", "of the twisting moment"),
        Column("by torsion", "1", "of the twisting moment"),
    )  # fmt: skip
    return Table("platform_members", "Members of the platform", columns, tuple(rows))


def springs(response: PlatformResponse) -> Table:
    """Roll and yaw stiffness at the roots, both hulls alike and apart."""
    rows: tuple[tuple[Cell, ...], ...] = (
        ("roll", response.antisymmetric_roll, response.symmetric_roll, response.symmetric_recipe_roll),
        ("yaw", response.antisymmetric_yaw, response.symmetric_yaw, None),
    )
    columns = (
        Column("of each root in"),
        Column("both hulls alike", "N·m/rad", "antisymmetric"),
        Column("hulls apart", "N·m/rad", "symmetric"),
        Column("hulls apart, by members for it", "N·m/rad", "symmetric; of a platform as built"),
    )
    return Table("platform_springs", "What the platform is to the roots of the bows", columns, rows)
