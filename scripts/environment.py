"""The checkout's own Python environment, `.venv`: made from the lock, once, by whichever script comes first.

Standard library only. `demo.py`, `test.py` and CI call `prepare`; run directly, this module only prepares:

    python3 scripts/environment.py run        what the `forebeam` command needs
    python3 scripts/environment.py develop    that, and what tests, lint and types need
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import io
import json
import os
import platform
import shutil
import signal
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NoReturn, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

Need: TypeAlias = Literal["run", "develop"]

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
STAMP = VENV / "forebeam-stamp.json"
COMMANDS = VENV / ("Scripts" if os.name == "nt" else "bin")
SOURCES = ("femcore", "models", "cases", "forebeam.py")
LOCKS: dict[Need, Path] = {need: ROOT / "requirements" / f"{need}.txt" for need in ("run", "develop")}

# Left over from another project's shell, these would send Python or pip elsewhere. Where packages come from
# (pip's index, proxy and certificate settings) is the machine's business, and stays.
LEFTOVERS = {
    *("PYTHONHOME", "PYTHONPATH", "PYTHONSTARTUP", "PYTHONUSERBASE", "PYTHONUTF8", "VIRTUAL_ENV"),
    *("PIP_CONSTRAINT", "PIP_PREFIX", "PIP_REQUIREMENT", "PIP_ROOT", "PIP_TARGET", "PIP_USER"),
}

# How pip says that nothing answered.
NO_NETWORK = ("connection broken", "failed to establish", "name resolution", "unreachable", "timed out")


class SetupFault(Exception):
    """The environment cannot be made; the message is one sentence for a person."""


def prepare(need: Need) -> Path:
    """Make `.venv` fit for `need`, doing only what is missing, and return the folder of its commands.

    The stamp says what stands complete. It goes away before anything is changed and comes back last, so an
    interrupted set-up leaves no stamp, and the next one begins again.

    Raises
    ------
    SetupFault
        Python lacks a module, the packages cannot be fetched, or the folder cannot be written.
    """
    place, project = _fingerprint_of_place(), _fingerprint_of_project()
    stamp = _read_stamp()
    steps: list[Callable[[], None]] = []
    if stamp.get("place") != place or not _command("python").exists():
        stamp = {}
        steps.append(_make_empty)
    if stamp.get("need") not in (need, "develop"):  # what develops also runs
        steps.append(lambda: _install_locked(need))
        stamp["need"] = need
    if stamp.get("project") != project:
        steps.append(_install_project)
    if steps:
        STAMP.unlink(missing_ok=True)
        for step in steps:
            step()
        stamp.update(place=place, project=project)
        STAMP.write_text(json.dumps(stamp), encoding="utf-8")
    if stamp.get("sources") != (sources := _fingerprint_of_sources()):
        _compile_sources()  # of a whole environment, which is no less whole where this is interrupted
        STAMP.write_text(json.dumps({**stamp, "sources": sources}), encoding="utf-8")
    return COMMANDS


def run(command: str, arguments: Sequence[str], extra: Mapping[str, str] | None = None) -> int:
    """Run one of `.venv`'s commands, with `extra` environment variables, and return its exit status.

    A request to end (SIGTERM) is handed on to it, so that it goes in good order and does not go on alone.
    """
    environment = {**clean_environment(), **(extra or {})}
    with subprocess.Popen([_command(command), *arguments], env=environment) as child:
        before = signal.signal(signal.SIGTERM, lambda *_: child.terminate())
        try:
            status = child.wait()
        finally:
            signal.signal(signal.SIGTERM, before)
    return status if status >= 0 else 128 - status  # a signal, told the shell's way


def clean_environment() -> dict[str, str]:
    """Return this process's environment without what another project's shell may have left in it."""
    kept = {name: value for name, value in os.environ.items() if name.upper() not in LEFTOVERS}
    return {**kept, "PYTHONNOUSERSITE": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}


def leave(body: Callable[[], int]) -> NoReturn:
    """Run a script's body and leave with its exit status; a fault becomes its sentence, an interrupt or SIGTERM 130."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(
            errors="replace"
        )  # a letter of the path that a terminal lacks is a question mark
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # a step of the set-up ends with it
    try:
        sys.exit(body())
    except SetupFault as fault:
        sys.exit(f"forebeam: {fault}")
    except KeyboardInterrupt:
        sys.exit(130)


def say(sentence: str) -> None:
    """Tell the person at the terminal what is going on, at once."""
    print(sentence, flush=True)


def _command(name: str) -> Path:
    return COMMANDS / (f"{name}.exe" if os.name == "nt" else name)


def _make_empty() -> None:
    for module, cure in (("venv", "python3-venv"), ("ensurepip", "python3-venv")):
        if importlib.util.find_spec(module) is None:
            message = f"this Python has no `{module}` module, which makes environments: install it"
            raise SetupFault(f"{message} (on Debian and its kin, the package {cure}) and run this again.")
    say(f"Making a Python environment of the project's own in {VENV}")
    try:
        if VENV.is_symlink():
            VENV.unlink()
        elif VENV.exists():
            shutil.rmtree(VENV)
    except OSError as error:
        message = f"{VENV} must be made anew and cannot be cleared ({error.strerror})"
        raise SetupFault(f"{message}: close what is using it and run this again.") from error
    # From inside an environment, the Python it was made from: the environment may be the one just cleared.
    base = getattr(sys, "_base_executable", None) or sys.executable
    _do([base, "-m", "venv", str(VENV)], f"{VENV} could not be made")


def _install_locked(need: Need) -> None:
    lock = LOCKS[need]
    say(f"Fetching the packages named in requirements/{lock.name}: about a minute, the first time only")
    hashed = ["--require-hashes", "--no-deps", "--retries", "2", "-r", str(lock)]
    _do([*_pip_install(), *hashed], "the packages could not be installed")


def _install_project() -> None:
    say("Putting the forebeam command in it")
    local = ["--no-index", "--no-deps", "--no-build-isolation", "-e", str(ROOT)]
    _do([*_pip_install(), *local], "the project itself could not be installed")


def _compile_sources() -> None:
    """pip compiles what it copies, and the project stays where it is; where Python may write nothing beside its sources
    (PYTHONDONTWRITEBYTECODE), every start would compile them anew, for a second.
    """
    compiled = [str(_command("python")), "-m", "compileall", "-q", *(str(ROOT / name) for name in SOURCES)]
    _do(compiled, "the project's modules could not be compiled")


def _pip_install() -> list[str]:
    return [str(_command("python")), "-m", "pip", "install", "--quiet", "--no-input"]


def _do(command: list[str], failure: str) -> None:
    """Run a step of the set-up quietly; where it fails, say so with the last of its own words."""
    done = subprocess.run(
        command,
        cwd=ROOT,
        env=clean_environment(),
        check=False,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
    )
    if done.returncode == 0:
        return
    if any(words in done.stdout.lower() for words in NO_NETWORK):
        raise SetupFault(f"{failure}: no package index answered; connect to the network and run this again.")
    last = "\n".join(done.stdout.strip().splitlines()[-8:])
    raise SetupFault(f"{failure} (exit status {done.returncode}); its last words were:\n{last}")


def _read_stamp() -> dict[str, str]:
    with contextlib.suppress(OSError, ValueError):
        stamp = json.loads(STAMP.read_text(encoding="utf-8"))
        if isinstance(stamp, dict):
            return stamp
    return {}


def _fingerprint_of_place() -> str:
    """Tell apart whatever calls for an environment made from nothing: Python, the folder, the locks."""
    parts = [platform.python_implementation(), *map(str, sys.version_info[:2]), str(ROOT)]
    return _digest(*parts, *(lock.read_text(encoding="utf-8") for lock in LOCKS.values()))


def _fingerprint_of_project() -> str:
    """Tell apart what installing the project depends on; settings of lint and tests are not part of it."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    parts = [settings["build-system"], settings["project"], settings["tool"]["hatch"]]
    return _digest(json.dumps(parts, sort_keys=True))


def _fingerprint_of_sources() -> str:
    """Tell apart what compiling the project's modules depends on, as Python does: by time and size of each file."""
    files = sorted(
        path for name in SOURCES for path in [ROOT / name, *(ROOT / name).rglob("*.py")] if path.is_file()
    )
    return _digest(*(f"{path} {path.stat().st_mtime_ns} {path.stat().st_size}" for path in files))


def _digest(*parts: str) -> str:
    return hashlib.sha256(
        "\0".join(parts).encode("utf-8", "surrogateescape")
    ).hexdigest()  # a path may be no text


def _main() -> int:
    match sys.argv[1:]:
        case ["run" | "develop" as need]:
            prepare(need)
            return 0
        case _:
            say("usage: python3 scripts/environment.py run | develop")
            return 2


if __name__ == "__main__":
    leave(_main)
