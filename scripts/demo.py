"""Analyse the demo boat from a bare checkout: `python3 scripts/demo.py [more arguments of forebeam run]`.

Makes `.venv` the first time. The exit status is that of `forebeam run`.
"""

import sys

# Written so that an old Python still reads this far and says what is wrong.
if sys.version_info < (3, 11):
    sys.exit("forebeam needs Python 3.11 or newer; this is {}.{}.".format(*sys.version_info))

import argparse
from pathlib import Path

import environment

BOAT = environment.ROOT / "cases" / "boats" / "demo.toml"


def main() -> int:
    """Prepare, run the demo boat, and say which report to open."""
    reader = argparse.ArgumentParser(description="Analyse the demo boat.", allow_abbrev=False)
    reader.add_argument("--out", type=Path, default=environment.ROOT / "demo-output", help="folder to write")
    chosen, others = reader.parse_known_args()
    environment.prepare("run")
    environment.say(f"Analysing the demo boat, {BOAT}")
    status = environment.run("forebeam", ["run", str(BOAT), "--out", str(chosen.out), *others])
    for report in sorted(chosen.out.glob("*.html")) if status == 0 else []:
        environment.say(f"Open {report.resolve()} in a browser.")
    return status


if __name__ == "__main__":
    environment.leave(main)
