"""A TOML document becomes a checked model, or its faults."""

from typing import Annotated, Literal

import pytest
from pydantic import Discriminator, Field, Tag, ValidationError

from femcore.base import toml
from femcore.base.errors import (
    ForebeamError,
    InputFault,
    InputFaults,
    Mechanism,
    PoorSolution,
    StructureFault,
    nearest,
)
from femcore.base.toml import (
    Document,
    Table,
    collect,
    duplicates,
    read_checked,
    read_document,
    read_toml,
    unknown,
)


class Leaf(Table):
    """A table within."""

    name: str = ""
    length: float


class Tree(Table):
    """A table of tables."""

    title: str
    leaves: list[Leaf] = []
    named: dict[str, Leaf] = {}
    start: str = Field(default="", alias="from")


def faults(tmp_path, text):
    """What reading raises, without the folder."""
    path = tmp_path / "tree.toml"
    path.write_text(text)
    with pytest.raises(InputFaults) as caught:
        read_document(path, Tree)
    return str(caught.value).replace(f"{tmp_path}/", "").split("\n")


def test_a_sound_document_becomes_its_model(tmp_path):
    """Keys are read into the fields that bear their names or aliases."""
    path = tmp_path / "tree.toml"
    path.write_text('title = "t"\nfrom = "A"\n[[leaves]]\nlength = 2\n[named.one]\nlength = 3')
    tree = read_document(path, Tree)
    assert (tree.title, tree.start, tree.leaves[0].length, tree.named["one"].length) == ("t", "A", 2, 3)


def test_a_table_is_frozen():
    """What was read cannot be changed."""
    with pytest.raises(ValidationError):
        Leaf(length=1).length = 2


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            "titel = 't'\ntitle = 't'",
            "tree.toml: titel: key 'titel' is not known here; did you mean 'title'?",
        ),
        ("title = 't'\nfrm = 'A'", "tree.toml: frm: key 'frm' is not known here; did you mean 'from'?"),
        (
            "title = 't'\n[[leaves]]\nlenght = 1\nlength = 1",
            "tree.toml: leaves[1]: lenght: key 'lenght' is not known here; did you mean 'length'?",
        ),
        (
            "title = 't'\n[named.x]\ntitle = 1\nlength = 1",
            (
                "tree.toml: named: x: title: key 'title' is not known here; "
                "take it out, or use one of name, length"
            ),
        ),
        (
            "title = 't'\n[[leaves]]\nname = 'oak'",
            "tree.toml: leaves[1] 'oak': length: 'length' is missing; add length = …",
        ),
        ("title = 3", "tree.toml: title: 3: input should be a valid string; correct the value"),
    ],
)
def test_a_fault_names_file_key_and_cure(tmp_path, text, line):
    """A fault names the file, its path in the file's own keys and names, and what would cure it; keys
    are suggested only from the table at hand.
    """
    assert faults(tmp_path, text) == [line]


def test_a_long_value_is_cut_short(tmp_path):
    """A value that is too long to show is shown by its beginning."""
    (line,) = faults(tmp_path, f"title = {list(range(100))}")
    assert "…" in line
    assert len(line) < 160


def test_duplicates_are_told_once():
    """A name that occurs three times is one fault; names that occur once are none."""
    (fault,) = duplicates("beam", ["a", "b", "a", "a"])
    assert str(fault) == "beam 'a': is duplicated; give each a name of its own"
    assert not duplicates("beam", ["a", "b"])


def test_an_unknown_name_suggests_the_nearest():
    """The fault of a name that does not exist gives the nearest that does, or some, or none."""
    assert unknown("p", "node", "stm", ["stem", "root"]).cure == "did you mean 'stem'?"
    assert (
        unknown("p", "node", "x", list("abcdefghij")).cure
        == "name one of 'a', 'b', 'c', 'd', 'e', 'f', 'g', 'h' …"
    )
    assert unknown("p", "node", "x", []).cure == "add a node first"


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("E-Glass", "e_glass"),
        ("e glass", "e_glass"),
        ("6082 T6", "6082-t6"),
        ("epoxi", "epoxy"),
        ("epoxyy", "epoxy"),
        ("un", "uni"),
        ("s_glass", None),
        ("carbon_hm", None),
        ("6061-T6", None),
        ("6082-T5", None),
    ],
)
def test_a_misspelt_name_is_never_another_material(name, meant):
    """Case, hyphens and spaces do not matter; a name that is off in its number or grade is another thing and is not proposed."""
    assert nearest(name, ["e_glass", "carbon_sm", "6082-t6", "epoxy", "uni"]) == meant


class Plain(Table):
    """A form that is known by a key of its own."""

    area: float = 0.0


class Full(Table):
    """The same thing by other keys."""

    width: float
    stiffness: float = 0.0


class Post(Table):
    """A kind."""

    kind: Literal["post"]
    height: float = 0.0


class Rail(Table):
    """Another kind."""

    kind: Literal["rail"] = "rail"


class Fence(Table):
    """Tables that may be given in several forms."""

    beam: Annotated[
        Annotated[Plain, Tag("by area")] | Annotated[Full, Tag("by width")],
        Discriminator(lambda given: "by width" if "width" in given else "by area"),
    ] = Field(default_factory=Plain)
    part: Annotated[
        Annotated[Post, Tag("post")] | Annotated[Rail, Tag("rail")],
        Discriminator(lambda given: given.get("kind") if isinstance(given, dict) else given.kind),
    ] = Field(default_factory=Rail)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "[beam]\nwidth = 1\narea = 2",
            "beam: area: key 'area' does not belong beside 'width'; take one of the two out",
        ),
        (
            "[part]\nkind = 'rail'\nheight = 1",
            "part: height: key 'height' does not belong to kind 'rail'; take it out, or give kind = 'post'",
        ),
        (
            "[part]\nkind = 'post'\nheigth = 1",
            "part: heigth: key 'heigth' is not known here; did you mean 'height'?",
        ),
    ],
)
def test_a_key_of_another_form_says_why_it_does_not_belong(tmp_path, text, said):
    """A key that the table knows in another of its forms is not unknown: its rival, or the kind it is of, is named."""
    path = tmp_path / "fence.toml"
    path.write_text(text)
    with pytest.raises(InputFaults) as caught:
        read_document(path, Fence)
    assert str(caught.value) == f"{path}: {said}"


def test_collected_faults_stand_inside_their_file():
    """Faults are raised together, each inside the file; none raises nothing."""
    collect("f.toml", [])
    with pytest.raises(InputFaults) as caught:
        collect("f.toml", [InputFault("a", "is wrong", "correct it"), InputFault("", "is odd", "leave it")])
    assert str(caught.value) == "f.toml: a: is wrong; correct it\nf.toml: is odd; leave it"


def test_a_file_too_large_is_not_read(tmp_path):
    """A file beyond what a person writes is refused before it is read."""
    path = tmp_path / "large.toml"
    path.write_text(f"# {'x' * toml.MAX_FILE_SIZE}")
    with pytest.raises(InputFault, match="is larger than 2 MiB"):
        read_toml(path)


def test_each_fault_has_its_exit_status():
    """Faults of the input leave with 2, faults of the structure with 3, and all are of one family."""
    assert (InputFault.exit_status, InputFaults.exit_status) == (2, 2)
    assert (StructureFault.exit_status, Mechanism.exit_status, PoorSolution.exit_status) == (3, 3, 3)
    for kind in (InputFault, InputFaults, Mechanism, PoorSolution):
        assert issubclass(kind, ForebeamError)


class Pair(Document):
    """A document whose tables name one another."""

    title: str
    leaves: list[Leaf] = []
    wanted: list[str] = []

    def faults(self):
        """Every leaf wanted must be there."""
        names = [leaf.name for leaf in self.leaves]
        return [unknown("wanted", "leaf", name, names) for name in self.wanted if name not in names]


def test_faults_of_tables_and_between_them_are_told_at_once(tmp_path):
    """A leaf that cannot be read hides neither itself nor what the sound tables get wrong of one another."""
    path = tmp_path / "pair.toml"
    leaves = '[[leaves]]\nname = "a"\nlength = 1\n[[leaves]]\nname = "b"\nlength = "x"'
    path.write_text(f'title = "t"\nwanted = ["a", "b", "c"]\n{leaves}')
    with pytest.raises(InputFaults) as caught:
        read_checked(path, Pair)
    first, second = str(caught.value).split("\n")
    assert "leaves[2] 'b': length" in first
    assert "leaf 'c' does not exist" in second
