"""A grid is every value with every value, and drawn sets spread as their method promises."""

import itertools
import json
import re
import tomllib
from pathlib import Path

import jsonschema
import numpy as np
import pytest

import cases.input
from cases.analyses.sweeps.columns import USUAL_COLUMNS
from cases.analyses.sweeps.plan import PreparedSweep, plan_sweep
from cases.cli.commands import main
from cases.input.grid_file import GridFile, Samples, VariedKey
from femcore.base.errors import InputFaults
from femcore.base.toml import checked, read_checked
from tests.models.boats import example_boat


def grid(*vary, **keys):
    """The tables of a grid file, checked."""
    return checked({"vary": list(vary), **keys}, GridFile, "grid.toml")


LENGTHS = {"key": "stay.forward", "from": "-20 mm", "to": "4 cm", "count": 4}
NAMES = {"key": "joints.socket.kind", "list": ["rigid", "pinned"]}
FACTORS = {"key": "cases.gust.scale", "from": 1, "to": 100, "count": 3, "spacing": "geometric"}
DRAWN = [
    {"key": "stay.up", "from": "100 mm", "to": "200 mm", "sampled": True},
    {"key": "cases.gust.tension", "from": "10 kN", "to": "1000 kN", "sampled": True, "spacing": "geometric"},
]


def test_every_value_goes_with_every_value_once():
    """4 × 2 × 3 values are 24 designs, all different, the last key varying first, whatever the chunks."""
    made = grid(LENGTHS, NAMES, FACTORS, designs_per_chunk=7)
    designs = [tuple(made.values(n)) for n in range(made.designs)]
    lengths = ["-20.0 mm", "0.0 mm", "20.0 mm", "40.0 mm"]
    assert designs == list(itertools.product(lengths, ["rigid", "pinned"], [1, 10, 100]))
    assert made.chunks == 4
    assert [n for chunk in range(made.chunks) for n in made.of_chunk(chunk)] == list(range(24))


def test_a_range_of_vectors_and_of_numbers_runs_from_end_to_end():
    """Components move together; whole numbers are whole where they can be; the last value is the end as it is written."""
    vector = grid({"key": "bows.stations.1.keel", "from": "0 0.1 m", "to": "20 30 cm", "count": 3})
    assert [vector.values(n) for n in range(3)] == [["0.0 0.1 m"], ["0.1 0.2 m"], ["0.2 0.3 m"]]
    count = grid({"key": "joints.lugs.bolts.columns", "from": 2, "to": 8, "count": 3})
    assert [type(count.values(n)[0]) for n in range(3)] == [int] * 3
    uneven = grid({"key": "x.y", "from": "0.1 m", "to": "0.3 m", "count": 7})
    assert uneven.values(6) == ["0.3 m"]


def test_a_latin_hypercube_has_one_value_in_every_stratum():
    """Of n sets each key has exactly one in each n-th of its range, in its spacing; a seed draws the same, another others."""
    made = grid(*DRAWN, samples={"count": 40, "seed": 3})
    found = [made.values(n) for n in range(made.designs)]
    ups = np.array([float(up.split()[0]) for up, _ in found])
    pulls = np.array([float(pull.split()[0]) for _, pull in found])
    assert sorted(np.floor((ups - 100) / 100 * 40).astype(int)) == list(range(40))
    assert sorted(np.floor(np.log10(pulls / 10) / 2 * 40).astype(int)) == list(range(40))
    assert abs(np.corrcoef(ups, np.log(pulls))[0, 1]) < 0.5
    assert found == [grid(*DRAWN, samples={"count": 40, "seed": 3}).values(n) for n in range(40)]
    assert found != [grid(*DRAWN, samples={"count": 40, "seed": 4}).values(n) for n in range(40)]


def test_a_sobol_sequence_is_balanced_in_two_directions():
    """Of 64 points each of the 8 × 8 squares has one (a (0, 6, 2)-net in base 2)."""
    made = grid(*DRAWN, samples={"count": 64, "method": "sobol"})
    found = [made.values(n) for n in range(64)]
    squares = {
        (int((float(up.split()[0]) - 100) / 12.5), int(np.log10(float(pull.split()[0]) / 10) * 4))
        for up, pull in found
    }
    assert len(squares) == 64


def test_a_value_with_its_scatter_is_drawn_by_its_distribution():
    """Half of a set is below the median, 16 % below a standard deviation under it; a range is even; one unit for all numbers."""
    made = grid(
        {"key": "a", "sample": "10 kN ± 30 %"},
        {"key": "b", "sample": "20 mm ± 1 cm"},
        {"key": "c", "sample": "8 … 14 kN"},
        {"key": "d", "sample": "1.5 ± 10 %"},
        {"key": "e", "sample": "0.2 -0.4 m ± 20 %"},
        samples={"count": 1000},
    )
    found = [made.values(n) for n in range(1000)]
    force, place, even = (np.array([float(values[i].split()[0]) for values in found]) for i in range(3))
    sigma = np.sqrt(np.log1p(0.3**2))
    assert [np.mean(force < x) for x in (10, 10 / np.exp(sigma), 10 * np.exp(sigma))] == pytest.approx(
        [0.5, 0.158655, 0.841345], abs=1e-3
    )
    assert [np.mean(place < x) for x in (20, 10, 30)] == pytest.approx([0.5, 0.158655, 0.841345], abs=1e-3)
    assert [np.mean(even < x) for x in (8, 9.5, 14)] == pytest.approx([0, 0.25, 1], abs=1e-3)
    assert np.median([values[3] for values in found]) == pytest.approx(1.5, rel=1e-3)
    pairs = np.array([[float(part) for part in values[4].split()[:2]] for values in found])
    assert pairs[:, 1] / pairs[:, 0] == pytest.approx(np.full(1000, -2.0))
    assert {values[0].split()[1] for values in found} == {"kN"}


def test_each_drawn_set_goes_with_each_combination():
    """Drawn keys and listed ones: samples × values, and a set is the same for every value of the list."""
    made = grid(DRAWN[0], NAMES, samples={"count": 5})
    designs = [made.values(n) for n in range(made.designs)]
    assert len(designs) == 10
    assert all(
        a[0] == b[0] and [a[1], b[1]] == ["rigid", "pinned"]
        for a, b in zip(designs[::2], designs[1::2], strict=True)
    )


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ([{"key": "a", "list": []}], "vary[1]: list"),
        ([{"key": "a"}], "has no values"),
        ([{"list": [1]}], "has to name what is varied"),
        ([{"key": "a", "from": "1 m", "to": "2 m"}], "has a range without a count"),
        ([{"key": "a", "from": "1 m", "count": 3}], "has one end of a range"),
        ([{"key": "a", "from": "1 m", "to": "2 kN", "count": 3}], "'2 kN' is not"),
        ([{"key": "a", "from": "1 m", "to": "1 2 m", "count": 3}], "'1 m' has 1 numbers"),
        ([{"key": "a", "from": "x", "to": "y", "count": 3}], "'x' is no quantity"),
        ([{"key": "a", "from": 1, "to": "2 m", "count": 3}], "not of one kind"),
        ([{"key": "a", "from": "0 m", "to": "1 m", "count": 3, "spacing": "geometric"}], "geometric range"),
        ([{"key": "a", "from": "1 m", "to": "2 m", "count": 1}], "vary[1]: count"),
        ([{"key": "a", "list": [1], "count": 2}], "has a count, or sampled, without a range"),
        ([{"key": "a", "list": [1]}, {"key": "a", "list": [2]}], "vary 'a' is duplicated"),
        ([{"key": "a", "list": [1]}, {"key": "a.b", "list": [2]}], "vary 'a.b' is part of 'a'"),
        ([{"key": "a", "list": [1], "sample": "1 ± 10 %"}], "in two ways"),
        ([{"key": "a", "sample": "10 kN"}], "'10 kN' has no scatter"),
        ([{"key": "a", "sample": "10 kN ± -5 %"}], "is negative"),
        ([{"key": "a", "sample": "10 kN ± 5 mm"}], "is not"),
        ([DRAWN[0]], "there are keys to be drawn but no [samples]"),
    ],
)
def test_a_faulty_grid_is_refused_in_a_sentence(tables, words):
    """What is wrong, where, and what cures it."""
    with pytest.raises(InputFaults) as caught:
        grid(*tables)
    shown = str(caught.value)
    assert words.replace("vary 'a' is", "vary 'a': is").replace("vary 'a.b' is", "vary 'a.b': is") in shown
    assert ";" in shown


def test_too_much_is_counted_and_refused():
    """A million by a million is named as 10¹² designs; many small chunks as so many files; nothing is listed for that."""
    large = [{"key": key, "from": 0.0, "to": 1.0, "count": 10**6} for key in "ab"]
    with pytest.raises(
        InputFaults, match=r"1,000,000,000,000 designs are too many; .* at most 1,000,000,000"
    ):
        grid(*large)
    with pytest.raises(InputFaults, match=r"chunks of 2 are 500,000 files; give at least 10"):
        grid(large[0], designs_per_chunk=2)
    assert grid(large[0]).chunks <= 100_000
    with pytest.raises(InputFaults, match=r"not balanced; give count = 128"):
        grid(*DRAWN, samples={"count": 100, "method": "sobol"})


def test_the_reference_is_a_grid_of_the_reference_boat(tmp_path):
    """It has the number of designs that it states, every key of a grid file, and every column."""
    path = tmp_path / "grid.toml"
    with pytest.raises(SystemExit) as ended:
        main(["new", str(path), "--grid"])
    assert ended.value.code == 0
    made = read_checked(path, GridFile)
    assert made.designs == 1536
    plan = plan_sweep(example_boat("new_boat"), made)
    boat = PreparedSweep.of(plan).design(1535)
    assert boat.joints[1].stiffness().springs[[3, 4, 5]] == pytest.approx([2e6, 1e7, 2e6])
    assert 1.2 < boat.crossbeam.height < 1.3
    assert set(made.columns) >= {column.name for column in USUAL_COLUMNS}
    text = path.read_text(encoding="utf-8")
    for model in (GridFile, VariedKey, Samples):
        for name, field in model.model_fields.items():
            assert re.search(rf"^\[?\[?{field.alias or name}\b", text, re.MULTILINE), name


def test_the_schema_is_that_of_the_reference(capsys):
    """An editor that has the schema accepts the reference, and refuses a key that is none."""
    with pytest.raises(SystemExit):
        main(["schema", "grid"])
    schema = json.loads(capsys.readouterr().out)
    raw = tomllib.loads(Path(cases.input.__file__).with_name("new_grid.toml").read_text(encoding="utf-8"))
    jsonschema.validate(raw, schema)
    raw["vary"][0]["counts"] = 3
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(raw, schema)
