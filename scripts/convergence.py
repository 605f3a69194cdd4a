"""What `pictures.py` runs inside the environment: the convergence studies as a table, and their picture at a path."""

from __future__ import annotations

import sys
from pathlib import Path

from cases.report.figures.convergence_figure import convergence_picture
from cases.verification.convergence import studies


def main() -> None:
    """Print a line for each study; draw them where a path is given."""
    found = list(studies())
    print(
        f"{'relative error with … elements':<36}{''.join(f'{n:>10}' for n in found[0].elements)}{'order':>8}{'theory':>8}"
    )
    for study in found:
        errors = "".join(f"{error:>10.1e}" for error in study.error)
        print(f"{study.name:<36}{errors}{study.rates[-1]:>8.2f}{study.order:>8}")
    for path in sys.argv[1:]:
        Path(path).write_bytes(convergence_picture(found).picture(png=True).png)


if __name__ == "__main__":
    main()
