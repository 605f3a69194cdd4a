"""One page for each question that a reader has, after the decision: short, with the figure that answers it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cases.analyses.analysis import Analysis
from cases.analyses.claims import checked_loads
from cases.analyses.next_actions import RaiseSizes
from cases.report.data import decision_words, words
from cases.report.data.statements import discretisation_words, margin_words
from cases.report.pages.page_parts import Figure, PageSection, shown
from cases.report.sections.margins_section import MARGIN_EXPLANATION, lowest_margins
from cases.report.sections.racking_section import table_of_ways
from cases.report.sections.report_section import ReportSection
from cases.report.sections.variants_section import few_changes
from cases.report.tables import boat_tables, joint_tables
from cases.report.tables.table import Cell, Column, Table
from cases.report.tables.uncertainty_tables import chances_table
from femcore.base.numbers import plain, power_of_ten, slugs
from models.strength.margins import SafetyFactors

MOST_MARGINS = 10
"""Of the candidates, on the page of the weakest parts."""


class Pages:
    """The question pages of one report; a figure that a page takes is gone from `figures`, so that none is shown twice."""

    def __init__(
        self, analysis: Analysis, figures: dict[str, Figure], parts: Sequence[ReportSection]
    ) -> None:
        self.analysis, self.study, self.figures, self.parts = analysis, analysis.study, figures, parts
        self.candidates = [one.joint for one in analysis.decision.candidates]

    def all(self) -> list[PageSection]:
        """In reading order; a question that the boat does not raise is left out."""
        pages = (self._rig(), self._stiffness(), self._weakest(), self._change(), self._trust(), self._boat())
        return [page for page in pages if page is not None]

    def _take(self, *names: str) -> list[Figure]:
        return [self.figures.pop(name) for name in names if name in self.figures]

    def _brief(self, page: str) -> Iterator[str]:
        """What further sections say to a question."""
        return (sentence for part in self.parts if part.page == page for sentence in part.brief)

    def _rig(self) -> PageSection | None:
        study = self.study
        if not study.rig_cases:
            return None
        worst = joint_tables.worst_in_rig(study)
        chosen = Table(
            worst.name,
            "Largest joint loads of the candidates in the rig cases, the larger of both hulls, without sign",
            worst.columns,
            tuple(row for row in worst.rows if row[0] in self.candidates),
        )
        slug = self._slug(words.stay_cases(study)[0])  # the case of the first sentence
        return PageSection(
            "rig",
            "What does the rig do?",
            [*words.stay_sentences(study)[:2], *self._brief("rig")],
            tables=shown(boat_tables.stay_lines(study), chosen),
            figures=self._take(f"path-{slug}"),
        )

    def _slug(self, case: str) -> str:
        names = [one.name for one in self.study.cases]
        return slugs(names)[names.index(case)]

    def _stiffness(self) -> PageSection:
        return PageSection(
            "stiffness",
            "What does stiffness cost?",
            [
                words.stiffness_sentence(self.study),
                *words.half_words(self.study)[:1],
                *self._brief("stiffness"),
            ],
            tables=shown(joint_tables.design_loads(self.analysis)),
            figures=self._take("attraction", "shares"),
        )

    def _weakest(self) -> PageSection:
        over = "cases and combinations" if self.analysis.file.expanded_combinations else "cases"
        names = [joint.name for joint in self.study.joints]
        drawn = [
            f"fitting-{slug}"
            for name, slug in zip(names, slugs(names), strict=True)
            if name in self.candidates
        ]
        return PageSection(
            "weakest",
            "Which parts are the weakest?",
            [MARGIN_EXPLANATION.format(over=over), *self._brief("weakest")],
            tables=shown(lowest_margins(self.analysis, self.candidates, MOST_MARGINS)),
            figures=self._take(*drawn),
        )

    def _change(self) -> PageSection | None:
        raised = [one for one in self.analysis.decision.actions if isinstance(one, RaiseSizes)]
        tables = [sizing_table(raised)]
        if self.analysis.compared:
            tables.append(few_changes(self.analysis, self.candidates))
        said = [*decision_words.action_sentences(self.analysis.decision, most=None), *self._brief("change")]
        if not said and not any(table.rows for table in tables):
            return None
        drawn = [f"sizes-{slug}" for slug in slugs([one.joint for one in raised])]
        return PageSection(
            "change", "What to change?", points=said, tables=shown(*tables), figures=self._take(*drawn)
        )

    def _trust(self) -> PageSection:
        analysis = self.analysis
        names = [one.joint for one in analysis.uncertainty.joints]
        drawn = [
            f"tornado-{slug}"
            for name, slug in zip(names, slugs(names), strict=True)
            if name in self.candidates
        ]
        return PageSection(
            "trust",
            "How far to trust it?",
            list(self._brief("trust")),
            figures=self._take(*drawn),
            points=list(self._grounds()),
            tables=shown(
                chances_table([one for one in analysis.uncertainty.joints if one.joint in self.candidates]),
                table_of_ways(analysis.racking_ways)
                .without("what is applied")
                .without("run")
                .without("source and its status"),
            ),
        )

    def _grounds(self) -> Iterator[str]:
        """What the numbers rest on, a line each."""
        analysis, file = self.analysis, self.analysis.file
        for one in analysis.decision.candidates:
            if one.flips:
                said = "; ".join(map(decision_words.flip_words, one.flips))
                yield f"The verdict on {words.name_of(one.joint)} changes at {said}."
        loads = checked_loads(file)
        bases = ", ".join(f"{count} {basis}" for basis, count in loads.by_basis.items())
        yield f"Loads: {loads.cases} cases ({bases}), {loads.combinations} combinations of them."
        if estimated := len(file.estimates.inputs):
            yield f"Inputs estimated, not entered: {estimated}. Each is marked where it is quoted."
        names = list(SafetyFactors.model_fields)
        default = sum(getattr(file.factors, name) == getattr(SafetyFactors(), name) for name in names)
        yield f"Safety factors and their options: {default} of {len(names)} are the defaults."
        formulas, strengths = len(analysis.remembered_formulas), len(analysis.remembered_strengths)
        counted = " and ".join(
            f"{count} {name}{'' if count == 1 else 's'}"
            for count, name in ((formulas, "formula"), (strengths, "strength"))
        )
        yield f"From memory, not looked up: {counted}; each is listed."
        solutions = [joint.solution for joint in self.study.joints]
        balance, error = (
            max(float(getattr(one, key).max()) for one in solutions) for key in ("balance", "error")
        )
        yield (
            f"Numerical errors: balance {power_of_ten(balance)}, displacements {power_of_ten(error)}. "
            f"{discretisation_words(analysis, brief=True)}"
        )
        yield "What the model leaves out, and how the numbers were checked: “Accuracy and limits” in the appendices."

    def _boat(self) -> PageSection:
        file = self.analysis.file
        return PageSection(
            "boat",
            "The boat as modelled",
            points=[plain(sentence) for sentence in boat_tables.boat_sentences(file)],
            tables=shown(*boat_tables.boat_tables(file)),
            figures=self._take("boat-plan", "boat"),
            aside=(
                "Dashed lines: rigid arms. Rings: ends that are free or sprung in some direction. Thin lines: stays, dotted if "
                "slack. Filled squares: fixed in all six directions; triangles: fixed in some; open squares: springs to ground."
            ),
        )


def sizing_table(raised: Sequence[RaiseSizes]) -> Table:
    """Every size raised, with its check's margin before and after."""
    columns = tuple(
        map(Column, ("joint", "check that fails", "size raised", "to", "margin before", "margin then"))
    )
    rows: list[tuple[Cell, ...]] = []
    for one in raised:
        rows += [
            (
                one.joint, f"{size.part}: {size.check}", size.variable, size.size if size.adequate else f"{size.size}, the best",
                margin_words(size.before), margin_words(size.after),
            )
            for size in one.sizes
        ]  # fmt: skip
        if one.still is not None:
            still = margin_words(one.still.margin)
            rows.append(
                (one.joint, decision_words.check_words(one.still), "no stock size helps", "–", "–", still)
            )
    return Table(
        "sizing", "Sizes raised one after the other, the boat solved anew after each", columns, tuple(rows)
    )
