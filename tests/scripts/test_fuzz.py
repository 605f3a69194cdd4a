"""Files damaged at random, the same in each run, are read or refused in a sentence."""

import numpy as np
import pytest

from scripts.fuzz import KINDS, mutant, run, trouble

SEED = 20
COUNTS = {
    "frame": 2000,
    "boat": 40,
    "scatter": 20,
    "answers": 100,
    "test": 300,
    "calibrate": 10,
    "grid": 40,
    "message": 20,
    "offsets": 100,
    "svg": 100,
    "dxf": 60,
}
"""Frames are read in a millisecond, boats in a tenth of a second: `scripts/fuzz.py` takes as many as there is time for."""


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "calibrate"])
def test_what_is_damaged_was_sound(kind, tmp_path):
    """Every text that mutants are made of is read without a fault."""
    for text in KINDS[kind].texts().values():
        path = tmp_path / f"sound{KINDS[kind].ending}"
        path.write_text(text, encoding="utf-8")
        KINDS[kind].read(path)


@pytest.mark.parametrize("kind", KINDS)
def test_damaged_files_are_read_or_refused_in_a_sentence(kind, tmp_path):
    """No mutant of a shipped file ends in a traceback, a long or unprintable message, or work without end."""
    found = [
        f"seed {SEED}, mutant {number} of {name}: {words}"
        for number, name, words in run(kind, COUNTS[kind], SEED, tmp_path)
    ]
    assert not found


def test_the_fuzzer_finds_what_it_is_there_for(tmp_path):
    """A reader that ends in an error of its own is found; mutants are the same in each run, and differ from their file."""

    def careless(_):
        raise ZeroDivisionError

    assert "ZeroDivisionError" in trouble(careless, tmp_path)
    text = next(iter(KINDS["frame"].texts().values()))
    mutants = [
        [mutant(text, np.random.default_rng([SEED, number])) for number in range(50)] for _ in range(2)
    ]
    assert mutants[0] == mutants[1]
    assert len({text.encode(), *mutants[0]}) > 40
