"""What a test on a boat taught, in sentences, for the terminal and the report."""

from __future__ import annotations

from collections.abc import Iterator

from cases.analyses.calibration_result import MIN_LEARNED, CalibrationResult
from cases.report.data.words import quantity

CORRELATION_SHOWN = 0.5
"""Size of a correlation from which two factors are named together."""
LEAST_CHANCE = 1e-4
"""A smaller probability is not written out."""
SAYS = {
    "fits": "Model and readings agree.",
    "does not fit": "The model does not fit these readings, so that no factor is quoted.",
    "fits better than its scatter": "The readings agree better than their scatter says: it is stated too large.",
}


def verdict_lines(found: CalibrationResult) -> Iterator[str]:
    """Whether model and readings agree, and which readings do not."""
    chance = (
        f"{100 * found.probability:.2g}"
        if found.probability > LEAST_CHANCE
        else f"less than {100 * LEAST_CHANCE:g}"
    )
    yield (
        f"{SAYS[found.verdict]} Sum of squares over scatter {found.chi_square:,.1f} with "
        f"{'one degree' if found.degrees == 1 else f'{found.degrees} degrees'} of freedom: as large by chance in {chance} % of "
        "tests."
    )
    for one in found.suspects:
        which = ", ".join(f"‘{name}’" for name in one.gauges)
        verb = "reads" if len(one.gauges) == 1 else "read"
        yield (
            f"{which} of ‘{one.test}’ {verb} {one.words}: {f'{one.factor:.3g}'.replace('-', '−')} times what all others predict. "
            f"With {'both slips' if one.together else 'that'} corrected, model and readings agree."
        )
    if found.verdict == "does not fit" and not found.suspects:
        yield (
            "No slip of sign or unit in one or two gauges explains it: look for a part that the model does not have, such as "
            "hulls that differ, a support that is not where it is said to be, or play."
        )
    for out in found.outliers:
        read, expected = (quantity(value, out.unit) for value in (out.reading, out.expected))
        yield (
            f"Outlier: ‘{out.gauge}’ in step {out.step} of ‘{out.test}’ reads {read} where {expected} is expected, "
            f"{abs(out.deviations):.1f} standard deviations off."
        )
    if found.verdict == "does not fit":
        return  # hysteresis beside a model that does not fit is mostly its misfit
    for gauge in found.gauges:
        if gauge.has_play and gauge.hysteresis is not None and gauge.hysteresis_scatter is not None:
            yield (
                f"Play or friction: ‘{gauge.gauge}’ of ‘{gauge.test}’ reads {quantity(abs(gauge.hysteresis), gauge.unit)} "
                f"{'more' if gauge.hysteresis > 0 else 'less'} while load falls than while it grows, at the same load "
                f"(± {quantity(gauge.hysteresis_scatter, gauge.unit)})."
            )


def fit_lines(found: CalibrationResult) -> Iterator[str]:
    """The test in a few sentences, beside an answer that is that of the file as it is."""
    fit, *others = verdict_lines(found)
    yield f"Test on the boat, ‘{found.title}’, with the joint ‘{found.joint}’. {fit}"
    yield from others
    if found.quoted:
        quoted = ", ".join(
            f"{name.replace('_', ' ')} × {factor:.3g}" for name, factor in found.quoted.items()
        )
        yield f"Stiffness found, over that of the file: {quoted}."
    yield racking_line(found)
    yield (
        "All other numbers here are those of the file as it is: ‘forebeam calibrate BOAT TEST --patch NEW’ writes one with the "
        "factors found."
    )


def factor_lines(found: CalibrationResult) -> Iterator[str]:
    """Which are not quoted, which go together, which the boat does not have."""
    unlearned = [one.name.replace("_", " ") for one in found.factors if not one.quoted]
    if unlearned:
        yield f"Not quoted, since the test taught less than {100 * MIN_LEARNED:.0f} % of them: {', '.join(unlearned)}."
    pairs = [
        f"{a.name} and {b.name} {found.correlation[i, j]:+.2f}".replace("_", " ").replace("-", "−")
        for i, a in enumerate(found.factors)
        for j, b in enumerate(found.factors[:i])
        if abs(found.correlation[i, j]) > CORRELATION_SHOWN
    ]
    if pairs:
        yield f"Correlated by more than {CORRELATION_SHOWN:g}: {'; '.join(pairs)}."
    for name, why in found.absent.items():
        yield f"Not looked for: {name.replace('_', ' ')}, as {why}."


def racking_line(found: CalibrationResult) -> str:
    """How far the joint's load in racking scatters by stiffness, before and after."""
    each = [
        f"{key} {100 * before:.0f} % before and {100 * after:.0f} % after"
        for key, (before, after) in found.racking_scatter.items()
    ]
    return f"Scatter of the joint's load in racking of given size, by stiffness alone: {', '.join(each)}."
