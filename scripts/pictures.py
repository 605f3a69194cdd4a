"""Make the README's pictures again, from the demo boat and the convergence studies: `python3 scripts/pictures.py`."""

import sys

# Written so that an old Python still reads this far and says what is wrong.
if sys.version_info < (3, 11):
    sys.exit("forebeam needs Python 3.11 or newer; this is {}.{}.".format(*sys.version_info))

import shutil
import tempfile
from pathlib import Path

import environment

BOAT = environment.ROOT / "cases" / "boats" / "demo.toml"
TARGET = environment.ROOT / "scripts" / "pictures"
CHOSEN = {"attraction.png": "attraction.png", "boat.png": "boat.png", "path-gust.png": "load_path.png"}
"""Of the report → in the README."""


def main() -> int:
    """Run the demo boat into a temporary folder and keep the pictures that the README shows."""
    environment.prepare("run")
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "report"
        status = environment.run("forebeam", ["run", str(BOAT), "--png", "--out", str(out)])
        if status == 0:
            TARGET.mkdir(exist_ok=True)
            for name, kept in CHOSEN.items():
                shutil.copy(out / "pictures" / name, TARGET / kept)
            studies = [str(environment.ROOT / "scripts" / "convergence.py"), str(TARGET / "convergence.png")]
            status = environment.run("python", studies)
        if status == 0:
            environment.say(f"The pictures are in {TARGET}")
    return status


if __name__ == "__main__":
    environment.leave(main)
