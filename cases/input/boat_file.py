"""The whole boat file: the boat, its joints, its load cases and how they combine, its variants and its service."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Self

from pydantic import Field, PrivateAttr, ValidationInfo, model_validator

from cases.input.boat_defaults import InputEstimates, completed, input_estimates
from cases.input.combinations import (
    Combination,
    ExpandedCombination,
    combination_faults,
    combined_level,
    default_combinations,
    expanded_combinations,
    expanded_names,
)
from cases.input.known_boat import BoatTable
from cases.input.scatter import scatter_faults, without_lost_keys
from cases.input.service import EVERY_JOINT, ServiceLife
from cases.input.variants import AS_ENTERED, Variant, apply_variant
from cases.loads import LOAD_CASES, LoadCase
from cases.loads.base import LoadLevel
from femcore.base.errors import InputFault, InputFaults
from femcore.base.toml import checked, duplicates, read_checked, unknown
from femcore.base.units import FileContext
from femcore.files.section_file import MaterialTables
from models.boat.boat import Boat
from models.joints.rigid import RigidJoint
from models.response.front_end import SIDES, FrontEnd, build
from models.response.platform_frame import aft_end
from models.tables.context import BoatContext, FileMaterials, ValidatedAs
from models.tables.kinds import discriminated_union

AnyLoadCase = Annotated[LoadCase, ValidatedAs(discriminated_union(LOAD_CASES))]

HULLS_AFT = tuple(name for side in SIDES for name in (f"{side} hull aft", aft_end(side)))
"""Places and members that a boat without its platform lacks."""


class BoatFile(Boat):
    """A boat file: one boat, any number of joints and cases; a run takes every joint through every case.

    combinations : of the cases; the common pair where left out, none where the list is empty
    service      : the life that details at the joints see;   variants : the boat with some keys changed
    boat         : particulars that cases take where they do not state them, and which keys are estimated
    scatter      : how far values may be off, by key or by kind of input: "± 15 %", or a table of spread, reason and cause
    question     : what is to be decided, at the head of the report; where left out, which of the candidates
    """

    cases: Annotated[list[AnyLoadCase], Field(min_length=1)]
    combinations: list[Combination] | None = None
    service: ServiceLife | None = None
    variants: list[Variant] = []
    boat: BoatTable | None = None
    scatter: dict[str, Any] = {}
    question: Annotated[str, Field(max_length=300)] = ""
    _raw: dict[str, Any] = PrivateAttr({})
    _as_read: dict[str, Any] = PrivateAttr({})
    _materials: FileMaterials = PrivateAttr(default_factory=FileMaterials)
    _estimates: InputEstimates = PrivateAttr(default_factory=InputEstimates)

    @model_validator(mode="before")
    @classmethod
    def _take_from_boat(cls, given: Any, info: ValidationInfo) -> Any:  # noqa: ANN401  (whatever the file holds)
        """Cases with what [boat] gives, in a file; in Python a case states all that it needs."""
        return (
            completed(given)[0]
            if isinstance(given, dict) and isinstance(info.context, FileContext)
            else given
        )

    def model_post_init(self, context: object, /) -> None:
        """Variants change the file's own tables, so these are kept, with what was made of them."""
        super().model_post_init(context)
        if isinstance(context, BoatContext):
            self._raw, self._materials, self._as_read = context.raw, context.materials, dict(self)
        self._estimates = input_estimates(self._raw, self.boat)
        self.cases[:] = [case.marked(self._estimates.of_case(case.name)) for case in self.cases]

    @property
    def raw(self) -> dict[str, Any]:
        """The file's own words, as read; not to be changed."""
        return self._raw

    @property
    def estimates(self) -> InputEstimates:
        """Which inputs are estimated."""
        return self._estimates

    @property
    def active_cases(self) -> list[LoadCase]:
        """The file's cases that are switched on."""
        return [case for case in self.cases if case.on]

    @property
    def load_cases(self) -> list[LoadCase]:
        """The cases as they are run: each active case expanded for this boat."""
        return [one for _, expanded in self._expansions for one in expanded]

    @cached_property
    def _expansions(self) -> list[tuple[LoadCase, list[LoadCase]]]:
        """Each active case, and what it is run as: a wave alone is some eighty loads, which many ask for."""
        return [(case, case.expand(self)) for case in self.active_cases]

    @property
    def expanded_combinations(self) -> list[ExpandedCombination]:
        """The combinations, over the cases as they are run."""
        given = default_combinations(self._expansions) if self.combinations is None else self.combinations
        return expanded_combinations(given, expanded_names(self._expansions))

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """As of its base; its cases are expanded anew, for the boat that the copy is."""
        copied = super().model_copy(update=update, deep=deep)
        copied.__dict__.pop("_expansions", None)
        return copied

    @property
    def load_levels(self) -> dict[str, LoadLevel]:
        """By the name of each case as it is run, and of each combination: whether its loads are working or extreme ones."""
        cases = {case.name: case.load_level for case in self.load_cases}
        return cases | {one.name: combined_level(one, cases) for one in self.expanded_combinations}

    def variant(self, variant: Variant) -> BoatFile:
        """The boat file that a variant is; InputFault or InputFaults where it is none."""
        place, raw = f"variants '{variant.name}'", apply_variant(self._raw, variant)
        if self.boat is not None and "boat" in raw:
            raw["boat"] = raw["boat"] | {"estimated": self.boat.marks_within(raw)}
        if "scatter" in raw:
            raw["scatter"] = without_lost_keys(raw["scatter"], raw)
        if any(raw.get(key) != self._raw.get(key) for key in MaterialTables.model_fields):
            return checked(raw, BoatFile, place)
        bows_differ = raw.get("bows") != self._raw.get("bows")  # a platform as built depends on their spacing
        before, now = completed(self._raw)[0], completed(raw)[0]  # cases differ where [boat] does
        reused = {
            key: _reused(value, before[key], self._as_read[key])
            for key, value in now.items()
            if key in before and key in self._as_read and not (key == "platform" and bows_differ)
        }
        return checked(raw, BoatFile, place, BoatContext(raw, self._materials), reused)

    def with_joints(self, names: Iterable[str]) -> BoatFile:
        """The same boat with some of its joints, details in service of these alone, and no variants, whose keys may name others.

        InputFault, with the nearest name, for a joint that does not exist.
        """
        chosen, known = list(names), [joint.name for joint in self.joints]
        for name in chosen:
            if name not in known:
                raise unknown("", "joint", name, known)
        service = self.service
        if service is not None:
            details = [one for one in service.details if one.joint in (*chosen, EVERY_JOINT)]
            service = service.model_copy(update={"details": details})
        joints = [joint for joint in self.joints if joint.name in chosen]
        return self.model_copy(update={"joints": joints, "service": service, "variants": []})

    def faults(self) -> Iterator[InputFault]:
        """Everything that the tables say of one another and that does not hold."""
        own = [*self.own_faults()]
        yield from own
        if self.boat is not None and self.raw:
            yield from self.boat.faults(self.raw)
        yield from scatter_faults(self.raw)
        yield from duplicates("variants", [AS_ENTERED, *(variant.name for variant in self.variants)])
        reported = {str(fault) for fault in own}
        for variant in self.variants:
            here = f"variants '{variant.name}'"
            yield from (
                fault
                for fault in self._faults_of(variant)
                if str(fault).removeprefix(f"{here}: ") not in reported
            )

    def _faults_of(self, variant: Variant) -> tuple[InputFault, ...]:
        try:
            made = self.variant(variant)
            return tuple(
                fault.inside(f"variants '{variant.name}'") for fault in self._changes_to_inactive_cases(made)
            )
        except InputFault as fault:
            return (fault.inside(f"variants '{variant.name}'"),)
        except InputFaults as trouble:
            return trouble.faults

    def _changes_to_inactive_cases(self, made: BoatFile) -> Iterator[InputFault]:
        """What a variant changes of cases that are off in it too, which nothing would show."""
        there = {case.name: case for case in made.cases}
        for case in self.cases:
            if not case.on and (other := there.get(case.name)) != case and not (other and other.on):
                wrong = f"changes the case '{case.name}', which is switched off"
                yield InputFault("", wrong, "set on = true for it too, or leave it as it is")

    def own_faults(self) -> Iterator[InputFault]:
        """As `faults`, the variants left out."""
        of_boat = list(super().faults())
        yield from of_boat
        if self.variants and not self._raw:
            cure = "take variants out, and make each of them as a boat of its own"
            yield InputFault(
                "variants", "change the tables of a file, and this boat was made in Python", cure
            )
        # a martingale or a platform that does not fit cannot be built: the rest is still checked. What could not be made of
        # sound tables has its outline, in which every place and member is
        unfit = [fault.place.partition(":")[0] for fault in of_boat if fault not in self.build_faults]
        lacking: dict[str, Any] = {part: None for part in ("martingale", "platform") if part in unfit}
        front = build(self.model_copy(update=lacking), RigidJoint(name="rigid").stiffness())
        if not self.active_cases:
            yield InputFault("cases", "every case is switched off", "give one of them on = true")
            return
        expanded: list[tuple[LoadCase, list[LoadCase]]] = []
        for case in self.active_cases:
            try:
                expanded.append((case, case.expand(self)))
            except (InputFault, InputFaults) as trouble:
                yield from _case_faults(case, trouble)
        every = [one for _, ones in expanded for one in ones]
        yield from duplicates(
            "cases", [case.name for case in every] + [c.name for c in self.cases if not c.on]
        )
        # what is an outline alone has no numbers that a load could be faulted for
        outlined = {fault.place.partition(":")[0] for fault in self.build_faults} - {""}
        outlined |= {*HULLS_AFT} if "platform" in lacking else set()
        for case in every:
            yield from (
                one for one in _load_faults(case, front) if not any(name in one.wrong for name in outlined)
            )
        if len(expanded) == len(self.active_cases):
            self.__dict__.setdefault("_expansions", expanded)  # which all that is computed asks for
            off = self._inactive_case_names()
            yield from combination_faults(self.combinations or [], expanded_names(expanded), every, off)
            if self.service is not None:
                yield from self.service.faults(
                    every, self.active_cases, [joint.name for joint in self.joints], off
                )

    def _inactive_case_names(self) -> list[str]:
        """The names of cases that are off, and of those that they would expand to where they fit the boat."""
        names = [case.name for case in self.cases if not case.on]
        for case in self.cases:
            if not case.on:
                with suppress(InputFault):
                    names += [one.name for one in case.expand(self)]
        return names


def require_boat(given: object) -> None:
    """InputFault where what Python gave is no boat, such as the name of a boat's file."""
    if not isinstance(given, BoatFile):
        raise InputFault("boat", f"{given!r:.60} is not a boat", 'read it first: fb.read("boat.toml")')


def _load_faults(case: LoadCase, front: FrontEnd) -> Iterator[InputFault]:
    """What is wrong with the loads of a case on a front end."""
    try:
        yield from case.faults(front.places, front)
    except InputFaults as trouble:
        yield from _case_faults(case, trouble)


def _case_faults(case: LoadCase, trouble: InputFault | InputFaults) -> Iterator[InputFault]:
    """As faults of the case: that it does not fit the boat, or that a load which it computes is beyond its bound."""
    place = f"cases '{case.name}'"
    if isinstance(trouble, InputFault):
        yield trouble.inside(place)
        return
    for one in trouble.faults:
        yield InputFault(f"{place}: its {one.place.rpartition(': ')[2]}", one.wrong, one.cure)


def _reused(now: Any, before: Any, made: Any) -> Any:  # noqa: ANN401  (values of any key)
    """What was made of a key that has not changed, or of those entries of its list that have not; else the raw value."""
    if now == before:
        return made
    if isinstance(now, list) and isinstance(before, list) and isinstance(made, list):
        return [next((one for old, one in zip(before, made, strict=True) if old == new), new) for new in now]
    return now


def read_boat_file(path: str | Path) -> BoatFile:
    """Read and check a boat file; InputFaults with every fault of it."""
    return read_checked(path, BoatFile)
