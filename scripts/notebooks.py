"""Execute the notebooks again, in place: `python3 scripts/notebooks.py`, after a change that they show."""

import sys

# Written so that an old Python still reads this far and says what is wrong.
if sys.version_info < (3, 11):
    sys.exit("forebeam needs Python 3.11 or newer; this is {}.{}.".format(*sys.version_info))

import environment

EXECUTE = """
import pathlib, nbformat
from nbclient import NotebookClient

for path in sorted(pathlib.Path("notebooks").glob("*.ipynb")):
    book = nbformat.read(path, as_version=4)
    here = {"metadata": {"path": str(path.parent)}}
    NotebookClient(book, kernel_name="python3", record_timing=False, resources=here).execute()
    for cell in book.cells:
        for output in cell.get("outputs", []):
            if "image/png" in output.get("data", {}):
                output["data"].pop("text/plain", None)  # the address of a figure says nothing
    book.metadata["language_info"] = {"name": "python"}
    nbformat.write(book, path)
    print(f"executed {path}")
"""


def main() -> int:
    """Prepare, and execute every notebook inside the environment."""
    environment.prepare("develop")
    return environment.run("python", ["-c", EXECUTE])


if __name__ == "__main__":
    environment.leave(main)
