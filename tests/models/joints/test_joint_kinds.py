"""Kinds of joints as limits of one another, and as words."""

import numpy as np
import pytest
from pydantic import ValidationError

from models.joints import DIRECTIONS, JOINTS, Joint
from models.joints.base import LOAD_MIRROR, as_port_loads
from models.tables.kinds import find_kinds
from tests.models.boats import joint_loads_on_hulls, load, plain, racking, springs, text

BOAT = plain(station=3.4, height=0.4, inboard=0.4, root={"pitch": 8e6})
CASES = (
    [load("stay", (-9e3, 300.0, 38e3))],
    racking(4e3),
    [load("port stem", (1e3, 2e3, 3e3), (100, 200, 300))],
)


def joint(kind, **keys):
    """A joint of that kind as a file gives it."""
    return JOINTS[kind].model_validate({"name": "one", "kind": kind, **keys})


def sprung(**keys):
    """A sprung joint, its springs in SI."""
    return joint("sprung", **text(keys))


def alike(found, expected, rel):
    """Forces and moments of every case agree to `rel` of the largest of their kind in it."""
    for part in (slice(0, 3), slice(3, 6)):
        difference = np.abs(found - expected)[..., part].max(axis=(1, 2))
        assert np.all(difference < rel * np.abs(expected[..., part]).max(axis=(1, 2)))


@pytest.mark.parametrize(("axis", "free"), [((1, 0, 0), "roll"), ((0, 0, -3), "yaw")])
def test_a_pin_is_a_spring_of_nothing_about_it(axis, free):
    """Pinned about a boat axis = sprung with that rotation free = sprung with 0 there, rigid in all else."""
    pinned = joint("pinned", axis=list(axis)).stiffness()
    for same in (sprung(free=[free]), sprung(**{free: 0.0})):
        assert np.array_equal(same.stiffness().springs, pinned.springs)
        assert np.array_equal(
            joint_loads_on_hulls(BOAT, same.stiffness(), *CASES), joint_loads_on_hulls(BOAT, pinned, *CASES)
        )


def test_a_pin_hardly_askew_is_a_pin_along_the_axis():
    """A pin turned by a millionth is, to a millionth, the pin along the axis: both ways to say it agree."""
    straight, askew = (joint("pinned", axis=axis).stiffness() for axis in ([1, 0, 0], [1, 1e-7, -1e-7]))
    assert straight.is_in_boat_axes
    assert not askew.is_in_boat_axes
    alike(joint_loads_on_hulls(BOAT, askew, *CASES), joint_loads_on_hulls(BOAT, straight, *CASES), 1e-5)


def test_very_stiff_springs_are_rigid():
    """Sprung with 10¹⁴ in all six is the rigid joint to 1e-6, and nearer the stiffer."""
    rigid = joint_loads_on_hulls(BOAT, joint("rigid").stiffness(), *CASES)
    differs = []
    for k in (1e8, 1e10, 1e14):
        found = joint_loads_on_hulls(BOAT, sprung(**dict.fromkeys(DIRECTIONS, k)).stiffness(), *CASES)
        differs.append(np.abs(found - rigid).max())
    assert differs[0] > 10 * differs[1] > 100 * differs[2]
    alike(found, rigid, 1e-6)


def test_very_soft_springs_are_free():
    """Sprung with next to nothing about one axis is the pinned joint about it."""
    alike(
        joint_loads_on_hulls(BOAT, sprung(roll=1e-3).stiffness(), *CASES),
        joint_loads_on_hulls(BOAT, springs("roll"), *CASES),
        1e-6,
    )


def test_what_is_left_out_is_rigid():
    """A sprung joint without springs is rigid in all six."""
    assert np.isinf(sprung().stiffness().springs).all()


def test_a_spring_and_free_contradict_one_another():
    """A direction that is both free and sprung is refused, by name."""
    with pytest.raises(ValidationError, match="'pitch' is both free and sprung"):
        sprung(pitch=1e5, free=["pitch"])


@pytest.mark.parametrize("axis", [[0, 0, 0], [np.nan, 1, 0], [np.inf, 0, 0], [1, 0], "x"])
def test_a_pin_needs_a_direction(axis):
    """A pin without three finite numbers, one of them not zero, is refused with an example."""
    with pytest.raises(ValidationError, match=r"such as \[1, 0, 0\] for a pin fore and aft"):
        joint("pinned", axis=axis)


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (joint("rigid"), "rigid in all six directions"),
        (joint("pinned", axis=[-2, 0, 0]), "free in vertical bending (pin fore and aft), rigid in all else"),
        (joint("pinned", axis=[0, 1, 0]), "free in twist (pin athwart), rigid in all else"),
        (
            joint("pinned", axis=[1, 1, 0]),
            "free about a pin along (0.71, 0.71, 0), rigid in all else",
        ),
        (
            sprung(heave=6e7, pitch=4e5, free=["roll"]),
            "sprung: heave 60 MN/m, pitch 400 kN·m/rad; free: roll; rigid: surge, sway, yaw",
        ),
    ],
)
def test_a_joint_says_what_it_does(made, words):
    """Each kind tells in one line what it holds, springs and frees."""
    assert made.words() == words


def test_every_kind_is_found_in_its_module():
    """The kinds that a file may name are those of the modules beside `base`, and each is a Joint."""
    assert {"pinned", "rigid", "sprung"} <= set(JOINTS)
    assert all(issubclass(kind, Joint) for kind in JOINTS.values())
    assert list(JOINTS) == sorted(JOINTS)


def test_kinds_are_found_without_a_list(tmp_path, monkeypatch):
    """A module laid into a package is found as a kind, one without a kind of its own is not."""
    package = tmp_path / "some_kinds"
    package.mkdir()
    (package / "__init__.py").write_text("")
    (package / "base.py").write_text(
        "from pydantic import BaseModel\nclass Base(BaseModel):\n    name: str\n"
    )
    (package / "oak.py").write_text(
        "from typing import Literal\nfrom some_kinds.base import Base\n"
        "class Oak(Base):\n    kind: Literal['oak']\n"
    )
    (package / "shape.py").write_text(
        "from some_kinds.base import Base\nclass Shape(Base):\n    size: float\n"
    )
    monkeypatch.syspath_prepend(str(tmp_path))
    module = __import__("some_kinds.base")
    assert list(find_kinds(module, module.base.Base)) == ["oak"]


def test_a_unit_that_does_not_fit_is_refused():
    """A spring in the unit of the other sort is refused with the right one."""
    with pytest.raises(ValidationError, match="is not a moment per rotation"):
        joint("sprung", pitch="4 MN/m")


def test_a_mirrored_load_is_that_of_the_mirrored_force():
    """Force and place mirrored in the centreline make the moment mirrored: r' × F' with y reversed, for any place and force.

    By hand: 1 kN down at 2 m to port rolls by −2 kN·m, and at 2 m to starboard by +2: roll and yaw change sign, pitch stays.
    """
    in_mirror = np.array([1.0, -1.0, 1.0])
    place, force = np.array([0.3, 2.0, -0.4]), np.array([70.0, -50.0, -1e3])
    starboard = np.concatenate([force, np.cross(place, force)])
    port = np.concatenate([in_mirror * force, np.cross(in_mirror * place, in_mirror * force)])
    assert starboard * LOAD_MIRROR == pytest.approx(port, rel=1e-12)
    own, other = as_port_loads(np.array([[port, starboard]]))
    assert own == pytest.approx(port[None], rel=1e-12)
    assert other == pytest.approx(port[None], rel=1e-12)
