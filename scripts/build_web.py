"""Bundle the scripts of the report: `cases/report/pages/web/` into `assets/` beside it.

    python3 scripts/build_web.py          fetch what package-lock.json names, bundle, and write licences and hashes
    python3 scripts/build_web.py --check  say whether the bundles are those that would be made; exit status 1 where not

Needs node and npm. The bundles are kept in the repository, so that nobody else does.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
WEB, ASSETS = ROOT / "cases" / "report" / "pages" / "web", ROOT / "cases" / "report" / "pages" / "assets"
ENTRIES = ("report",)
LICENCED = ("three",)
"""Libraries that the bundles hold, whose licences go beside them."""


def bundle(into: Path) -> None:
    """The bundles, licences and `SHA256SUMS` of the sources as they are."""
    into.mkdir(parents=True, exist_ok=True)
    for entry in ENTRIES:
        options = ("--bundle", "--minify", "--format=iife", "--charset=utf8", "--legal-comments=none")
        subprocess.run(
            [str(WEB / "node_modules" / ".bin" / "esbuild"), f"{entry}.js", *options, f"--outfile={into / entry}.min.js"],
            cwd=WEB, check=True, capture_output=True,
        )  # fmt: skip
    texts = [
        f"{name}\n\n{(WEB / 'node_modules' / name / 'LICENSE').read_text('utf8').strip()}\n"
        for name in LICENCED
    ]
    (into / "LICENCES.txt").write_text("\n".join(texts), "utf8")
    sums = [
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.name}"
        for path in sorted(into.glob("*.min.js"))
    ]
    (into / "SHA256SUMS").write_text("\n".join(sums) + "\n", "utf8")


def main(arguments: list[str]) -> int:
    """Build, or compare with what is there."""
    subprocess.run(["npm", "ci", "--silent", "--no-audit", "--no-fund"], cwd=WEB, check=True)  # noqa: S607
    if arguments != ["--check"]:
        bundle(ASSETS)
        return 0
    with tempfile.TemporaryDirectory() as folder:
        bundle(Path(folder))
        return int(
            (Path(folder) / "SHA256SUMS").read_text("utf8") != (ASSETS / "SHA256SUMS").read_text("utf8")
        )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
