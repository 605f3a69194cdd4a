"""The set-up that demo, tests and CI share: what it does, what it leaves, and what it says when it cannot."""

import importlib.util
import json
import os
import shutil
import signal
import subprocess
import sys
import venv
from pathlib import Path

import psutil
import pytest

ROOT = Path(__file__).resolve().parents[2]


class Checkout:
    """A copy of the checkout's ground; its steps are recorded, not run, and `fail_at` breaks off at one."""

    def __init__(self, root, monkeypatch):
        for name in (
            "pyproject.toml",
            "scripts/environment.py",
            "requirements/run.txt",
            "requirements/develop.txt",
        ):
            (root / name).parent.mkdir(exist_ok=True)
            shutil.copy(ROOT / name, root / name)
        self.root, self.steps, self.fail_at = root, [], None
        self.module = load(root)
        monkeypatch.setattr(self.module, "_do", self._do)

    def _do(self, command, failure):
        step = next(
            key
            for key in ("venv", "run.txt", "develop.txt", "project")
            if any(key in part for part in command)
        )
        if step == "venv" and "pip" in command:
            step = "venv" if command[2] == "venv" else Path(command[-1]).name
        step = "project" if step == self.root.name else step
        step = "compiled" if "compileall" in command else step
        self.steps.append(step)
        if step == self.fail_at:
            raise KeyboardInterrupt(failure)
        if step == "venv":
            python = self.module._command("python")
            python.parent.mkdir(parents=True)
            python.touch()

    def prepare(self, need):
        """Prepare, and return the steps that were taken."""
        self.steps = []
        self.module.prepare(need)
        return self.steps

    def edit(self, name, old, new):
        """Change one text of one file."""
        path = self.root / name
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new), encoding="utf-8")


def load(root):
    """The set-up module of the checkout at `root`."""
    spec = importlib.util.spec_from_file_location(
        "environment_under_test", root / "scripts" / "environment.py"
    )
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def checkout(tmp_path, monkeypatch):
    """A bare checkout in a folder of its own."""
    return Checkout(tmp_path, monkeypatch)


@pytest.fixture
def environment():
    """The set-up module of this checkout."""
    return load(ROOT)


def test_a_bare_checkout_is_made_whole_once(checkout):
    """From nothing come environment, packages, project; the second time nothing is left to do."""
    assert checkout.prepare("develop") == ["venv", "develop.txt", "project", "compiled"]
    assert checkout.prepare("develop") == []


def test_what_develops_also_runs(checkout):
    """The demo needs nothing more after the tests; the tests add their packages to the demo's."""
    assert checkout.prepare("run") == ["venv", "run.txt", "project", "compiled"]
    assert checkout.prepare("develop") == ["develop.txt"]
    assert checkout.prepare("run") == []


OFFLINE = dict.fromkeys(("HTTP_PROXY", "HTTPS_PROXY", "PIP_INDEX_URL"), "http://127.0.0.1:9") | {"PATH": ""}


def test_the_second_time_needs_no_network_and_says_nothing(checkout):
    """With no index to be reached and no program to be found, a checkout that is whole is ready at once."""
    checkout.prepare("run")
    command = [sys.executable, checkout.root / "scripts" / "environment.py", "run"]
    done = subprocess.run(command, env=os.environ | OFFLINE, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


SET_UP = """
import sys
sys.path.insert(0, "scripts")
import environment
environment._install_project = environment._compile_sources = lambda: None
def body():
    environment.prepare("run")
    return environment.run("python", ["-c", "import sys; print(ascii(sys.executable))"])
environment.leave(body)
"""


@pytest.mark.skipif(os.name != "posix", reason="locales of POSIX")
@pytest.mark.parametrize("utf8", ["1", "0"], ids=["letters by UTF-8", "ASCII alone"])
def test_set_up_works_by_a_path_with_spaces_and_letters_in_a_bare_locale(tmp_path, utf8):
    """Checkout and interpreter are in folders with a space and a letter that ASCII lacks: an environment is made, here without
    packages, and its Python is run; the second time nothing is said.
    """
    root, programs = tmp_path / "Böot and beam", tmp_path / "Pröğrams here"
    for name in ("pyproject.toml", "scripts/environment.py"):
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, root / name)
    (root / "requirements").mkdir()
    for name in ("run.txt", "develop.txt"):
        (root / "requirements" / name).touch()
    venv.create(programs, symlinks=True)
    bare = {
        name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "LC_", "LANG"))
    }
    command = [programs / "bin" / "python", "-c", SET_UP]
    said = [
        subprocess.run(
            command,
            cwd=root,
            env=bare | {"LC_ALL": "C", "PYTHONUTF8": utf8},
            capture_output=True,
            check=False,
        )
        for _ in range(2)
    ]
    assert [(done.returncode, done.stderr) for done in said] == [(0, b""), (0, b"")]
    assert b"Making a Python environment" in said[0].stdout
    assert said[1].stdout.count(b"\n") == 1
    assert b"/.venv/bin/python" in said[1].stdout


@pytest.mark.parametrize("step", ["venv", "develop.txt", "project"])
def test_an_interrupted_set_up_begins_again(checkout, step):
    """Wherever a set-up breaks off, it leaves no stamp, and the next one starts from nothing."""
    checkout.fail_at = step
    with pytest.raises(KeyboardInterrupt):
        checkout.prepare("develop")
    assert not checkout.module.STAMP.exists()
    checkout.fail_at = None
    assert checkout.prepare("develop") == ["venv", "develop.txt", "project", "compiled"]


def test_an_interrupted_addition_begins_again(checkout):
    """Where adding the tests' packages to the demo's breaks off, nothing half-made is trusted."""
    checkout.prepare("run")
    checkout.fail_at = "develop.txt"
    with pytest.raises(KeyboardInterrupt):
        checkout.prepare("develop")
    checkout.fail_at = None
    assert checkout.prepare("run") == ["venv", "run.txt", "project", "compiled"]


def test_a_changed_lock_makes_a_new_environment(checkout):
    """Other pins mean an environment from nothing, so that it holds what the lock names and no more."""
    checkout.prepare("develop")
    checkout.edit("requirements/develop.txt", "click==", "click==9")
    assert checkout.prepare("develop") == ["venv", "develop.txt", "project", "compiled"]


def test_a_moved_checkout_makes_a_new_environment(checkout, tmp_path, monkeypatch):
    """An environment holds absolute paths: one that came along from another folder is not trusted."""
    checkout.prepare("develop")
    moved = tmp_path / "elsewhere"
    moved.mkdir()
    shutil.copytree(checkout.root / ".venv", moved / ".venv")
    assert Checkout(moved, monkeypatch).prepare("develop") == ["venv", "develop.txt", "project", "compiled"]


def test_only_what_bears_on_the_install_reinstalls(checkout):
    """A new entry point puts the project in again; a change of lint settings does nothing."""
    checkout.prepare("develop")
    checkout.edit("pyproject.toml", "line-length = 110", "line-length = 100")
    assert checkout.prepare("develop") == []
    checkout.edit("pyproject.toml", 'version = "0.1.0"', 'version = "0.1.1"')
    assert checkout.prepare("develop") == ["project"]


def test_changed_modules_are_compiled_again(checkout):
    """A module that changes or comes is compiled and nothing else is done; an interrupted compiling is made good, no more."""
    module = checkout.root / "femcore" / "new.py"
    module.parent.mkdir()
    checkout.prepare("develop")
    for text in ("", "size = 1\n"):
        module.write_text(text)
        assert checkout.prepare("develop") == ["compiled"]
    module.write_text("size = 200\n")
    checkout.fail_at = "compiled"
    with pytest.raises(KeyboardInterrupt):
        checkout.prepare("develop")
    checkout.fail_at = None
    assert checkout.prepare("develop") == ["compiled"]
    assert checkout.prepare("develop") == []


@pytest.mark.parametrize("text", ["", "{", "[]", '"place"', "{}"])
def test_a_spoilt_stamp_is_no_stamp(checkout, text):
    """A stamp that cannot be read, or says nothing, counts as none."""
    checkout.prepare("develop")
    checkout.module.STAMP.write_text(text)
    assert checkout.prepare("develop") == ["venv", "develop.txt", "project", "compiled"]
    assert json.loads(checkout.module.STAMP.read_text())["need"] == "develop"


@pytest.mark.parametrize("module", ["venv", "ensurepip"])
def test_a_python_without_venv_is_told_so(checkout, monkeypatch, module):
    """Where the system split a module off, one sentence names the module and the package that brings it."""
    found = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == module else found(name))
    with pytest.raises(checkout.module.SetupFault, match=rf"no `{module}` module.*python3-venv.*\.$"):
        checkout.prepare("run")


def test_no_network_is_one_sentence(environment):
    """Where no index answers, the fault says so in one line, without pip's pages."""
    words = (
        "WARNING: Retrying after connection broken by NewConnectionError\\nERROR: No matching distribution"
    )
    failing = [sys.executable, "-c", f"print('{words}'); raise SystemExit(1)"]
    with pytest.raises(environment.SetupFault) as fault:
        environment._do(failing, "the packages could not be installed")
    assert str(fault.value).startswith("the packages could not be installed: no package index answered;")
    assert "\n" not in str(fault.value)


def test_another_failure_keeps_its_last_words(environment):
    """Any other failure hands on its status and the last of what it said."""
    failing = [sys.executable, "-c", "print('disk full'); raise SystemExit(3)"]
    with pytest.raises(environment.SetupFault, match=r"exit status 3(.|\n)*disk full"):
        environment._do(failing, "the packages could not be installed")


def test_leftovers_of_another_shell_are_dropped(environment, monkeypatch):
    """Another project's Python settings go; where the machine gets its packages from stays."""
    for name in environment.LEFTOVERS:
        monkeypatch.setenv(name, "left over")
    monkeypatch.setenv("PIP_INDEX_URL", "the machine's own")
    clean = environment.clean_environment()
    assert not environment.LEFTOVERS & set(clean)
    assert clean["PIP_INDEX_URL"] == "the machine's own"


@pytest.mark.parametrize("code", [0, 1, 2, 3])
def test_the_status_is_the_childs(environment, code):
    """What the command left with is what the script leaves with."""
    assert environment.run("python", ["-c", f"raise SystemExit({code})"]) == code


def test_a_signal_is_told_the_shells_way(environment):
    """A command ended by a signal gives 128 and the signal's number."""
    end = "import os, signal; os.kill(os.getpid(), signal.SIGTERM)"
    assert environment.run("python", ["-c", end]) == 128 + signal.SIGTERM


def test_a_wrong_word_gets_the_usage():
    """Run directly with anything but its two words, the module says how it is used, with status 2."""
    script = ROOT / "scripts" / "environment.py"
    done = subprocess.run([sys.executable, script, "deploy"], capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stdout.startswith("usage: ")


ENDED = """
import sys
sys.path.insert(0, sys.argv[1])
import environment
sleeping = ["-c", "import os, time; print(os.getpid(), flush=True); time.sleep(100)"]
if sys.argv[2] == "command":
    environment._command = lambda _: sys.executable
    environment.leave(lambda: environment.run("python", sleeping))
environment.subprocess.PIPE = None  # so that this test hears of it
environment.leave(lambda: environment._do([sys.executable, *sleeping], "no step"))
"""


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
@pytest.mark.parametrize(("what", "status"), [("command", 128 + signal.SIGTERM), ("step", 130)])
def test_a_script_that_is_asked_to_end_ends_what_it_started(what, status):
    """The command it runs, or a step of the set-up, does not go on alone."""
    command = [sys.executable, "-c", ENDED, ROOT / "scripts", what]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as script:
        child = psutil.Process(int(script.stdout.readline()))
        script.terminate()
        assert script.wait(20) == status
        _, alive = psutil.wait_procs([child], timeout=20)
        assert not alive
        assert script.stderr.read() == ""
