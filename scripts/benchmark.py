"""How fast the solver is, against the libraries it uses: `python3 scripts/benchmark.py [--demo] [--large]`.

`--demo` measures what a user waits for on the demo boat, alone; `--large` adds a million freedoms (about two minutes and 6 GB of
memory). Makes `.venv` the first time.
Nothing is asserted: the table says what was measured over what, and what was aimed at.
"""

import sys

# Written so that an old Python still reads this far and says what is wrong.
if sys.version_info < (3, 11):
    sys.exit("forebeam needs Python 3.11 or newer; this is {}.{}.".format(*sys.version_info))

import argparse

import environment

MEASURE = environment.ROOT / "scripts" / "measure.py"
# Ratios of times mean little where one side takes more cores than the other.
ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}


def main() -> int:
    """Prepare, and measure inside the environment."""
    reader = argparse.ArgumentParser(description="How fast the solver is.", allow_abbrev=False)
    reader.add_argument("--large", action="store_true", help="measure a million freedoms too")
    reader.add_argument("--demo", action="store_true", help="measure the work on the demo boat alone")
    chosen = reader.parse_args()
    environment.prepare("develop")
    flags = [flag for flag, given in (("--demo", chosen.demo), ("--large", chosen.large)) if given]
    return environment.run("python", [str(MEASURE), *flags], ONE_THREAD)


if __name__ == "__main__":
    environment.leave(main)
