"""Tests of strict reading: every mistake of a file together, each with its place."""

import hashlib
import math
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, Literal

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from commission.content import (
    ContentError,
    Problem,
    Text,
    build,
    checklists_folder,
    load,
    nearest,
    parse_toml,
    read_text,
)


class Colour(StrEnum):
    """Two names to choose from."""

    AMBER = "amber"
    WHITE = "white"


class Lamp(msgspec.Struct, frozen=True, kw_only=True):
    """A small struct with a rule of its own."""

    id: str
    colour: Colour
    watts: Annotated[float, msgspec.Meta(gt=0, le=100)]
    hours: int = 0
    lit: bool = False

    def __post_init__(self) -> None:
        """White lamps are not lit here."""
        if self.lit and self.colour is Colour.WHITE:
            raise ValueError("an amber lamp, if it is lit")


class Room(msgspec.Struct, frozen=True, kw_only=True):
    """A struct with everything that a sheet has: nested, optional, listed, named, bounded."""

    format: Literal[1]
    lamps: tuple[Lamp, ...] = ()
    spare: Lamp | None = None
    by_name: dict[str, Lamp] = {}
    readings: Mapping[str, float] = {}
    words: tuple[str, ...] = ()
    limit: Annotated[float, msgspec.Meta(ge=0)] | None = None
    anything: Mapping[str, Any] = {}


def problems_of(text: str) -> list[str]:
    """What is wrong with a room, in words."""
    with pytest.raises(ContentError) as refused:
        load(Room, Text("room.toml", text))
    assert str(refused.value) == "\n".join(str(problem) for problem in refused.value.problems)
    return [str(problem) for problem in refused.value.problems]


GOOD = """
format = 1
words = ["a", "b"]
limit = 3
readings = { "20" = 1, "40" = 2.5 }
anything = { deep = { deeper = [1, "two"] } }
spare = { id = "s", colour = "white", watts = 5 }
[by_name.hall]
id = "h"
colour = "amber"
watts = 40.0
lit = true
[[lamps]]
id = "l1"
colour = "amber"
watts = 7
"""


def test_a_good_file_is_read_as_written() -> None:
    """Whole numbers stand for numbers, nested tables are followed, and the rest has its defaults."""
    room = load(Room, Text("room.toml", GOOD))
    assert room.lamps == (Lamp(id="l1", colour=Colour.AMBER, watts=7.0),)
    assert room.by_name["hall"].lit
    assert room.spare is not None
    assert (room.limit, room.words, room.readings) == (3.0, ("a", "b"), {"20": 1.0, "40": 2.5})
    assert isinstance(room.limit, float)


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (("format = 1", "format = 2"), "room.toml: format: found 2, expected one of 1"),
        (
            ("watts = 7", "wats = 7"),
            "room.toml: lamp 'l1': wats: found an unknown field, expected a known field; did you mean 'watts'?",
        ),
        (
            ("watts = 7", "watts = 700"),
            "room.toml: lamp 'l1': watts: found 700, expected a number above 0 and at most 100",
        ),
        (
            ("watts = 7", 'watts = "7"'),
            "room.toml: lamp 'l1': watts: found '7', expected a number above 0 and at most 100",
        ),
        (
            ("watts = 7", "watts = true"),
            "room.toml: lamp 'l1': watts: found true, expected a number above 0 and at most 100",
        ),
        (
            ("watts = 7", "watts = nan"),
            "room.toml: lamp 'l1': watts: found nan, expected a number above 0 and at most 100",
        ),
        (
            ("watts = 40.0", "watts = 40.0\nhours = 1.5"),
            "room.toml: by_name 'hall': hours: found 1.5, expected a whole number",
        ),
        (
            ("watts = 40.0", "watts = 40.0\nhours = false"),
            "room.toml: by_name 'hall': hours: found false, expected a whole number",
        ),
        (("lit = true", "lit = 1"), "room.toml: by_name 'hall': lit: found 1, expected true or false"),
        (
            ('"amber"\nwatts = 7', '"ambre"\nwatts = 7'),
            "room.toml: lamp 'l1': colour: found 'ambre', expected one of amber, white; did you mean 'amber'?",
        ),
        (("limit = 3", "limit = inf"), "room.toml: limit: found inf, expected a finite number"),
        (("limit = 3", "limit = -1"), "room.toml: limit: found -1, expected a number at least 0"),
        (('"40" = 2.5', '"40" = "x"'), "room.toml: readings '40': found 'x', expected a number"),
        (('"40" = 2.5', '"40" = nan'), "room.toml: readings '40': found nan, expected a finite number"),
        (
            ("deeper = [1", "deeper = [-inf"),
            "room.toml: anything: found {'deep': {'deeper': [-inf, 'two']}}, expected a finite number",
        ),
        (('words = ["a", "b"]', 'words = "a"'), "room.toml: words: found 'a', expected a list of text"),
        (('spare = { id = "s"', "spare = { id = 3"), "room.toml: spare: id: found 3, expected text"),
        (
            ("[[lamps]]", "[lamps]"),
            "room.toml: lamps: found {'colour': 'amber', 'id': 'l1', 'watts': 7}, expected a list of tables",
        ),
        (("[by_name.hall]", "[by_name]"), "room.toml: by_name 'id': found 'h', expected a table"),
    ],
    ids=lambda item: item if isinstance(item, str) else "",
)
def test_a_mistake_is_named_with_place_found_expected_and_nearest(change: tuple[str, str], problem: str) -> None:
    """One mistake in a good file gives its own sentence, first."""
    assert GOOD.count(change[0]) == 1
    assert problems_of(GOOD.replace(*change))[0] == problem


def test_all_mistakes_of_a_file_are_reported_together() -> None:
    """Missing, unknown, wrong and contradictory fields in several places are told in one go."""
    found = problems_of(
        """
        limt = 2
        [[lamps]]
        id = "a"
        colour = "white"
        watts = 1
        lit = true
        [[lamps]]
        watts = -1
        [spare]
        id = "s"
        colour = "amber"
        """
    )
    assert found == [
        "room.toml: limt: found an unknown field, expected a known field; did you mean 'limit'?",
        "room.toml: format: found nothing, expected one of 1",
        "room.toml: lamp 'a': found a contradiction, expected an amber lamp, if it is lit",
        "room.toml: lamp number 2: id: found nothing, expected text",
        "room.toml: lamp number 2: colour: found nothing, expected one of amber, white",
        "room.toml: lamp number 2: watts: found -1, expected a number above 0 and at most 100",
        "room.toml: spare: watts: found nothing, expected a number above 0 and at most 100",
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format = 1\nformat = 2\n", "(at line 2"),
        ("format = \nx = 1", "(at line 1"),
        ("[a]\n[a]", "twice"),
        ("x = " + "1" * 5000, "digits"),
        ("x = " + "[" * 3000, "nested too deep"),
    ],
    ids=["key twice", "no value", "table twice", "too many digits", "too deep"],
)
def test_what_is_not_toml_is_refused_with_its_line(text: str, words: str) -> None:
    """A text that cannot be parsed gives one problem, whatever the reason."""
    with pytest.raises(ContentError) as refused:
        parse_toml(Text("room.toml", text))
    (problem,) = refused.value.problems
    assert problem.expected == "TOML"
    assert words in problem.found


@pytest.mark.parametrize(
    "text",
    ["format = 0x" + "f" * 5000, "anything = { a = 0x" + "f" * 5000 + " }\nformat = 2", ".".join("a" * 4000) + " = 1"],
    ids=["a number too long to print", "the same, allowed", "tables nested 4000 deep"],
)
def test_what_python_cannot_print_is_still_reported(text: str) -> None:
    """Values that no text can be made of do not break the message about them."""
    assert problems_of(text)


def test_files_are_read_as_utf_8_with_or_without_a_mark(tmp_path: Path) -> None:
    """Some editors put a byte-order mark at the start; it is not part of the text."""
    path = tmp_path / "room.toml"
    path.write_bytes(b"\xef\xbb\xbfformat = 1 # \xc2\xb0C\n")
    text = read_text(path)
    assert text == Text("room.toml", "format = 1 # °C\n")
    assert text.digest == hashlib.sha256("format = 1 # °C\n".encode()).hexdigest()


def test_a_file_that_cannot_be_read_is_a_problem_and_no_traceback(tmp_path: Path) -> None:
    """Absent, a folder, not UTF-8: each is said with the path."""
    (tmp_path / "latin.toml").write_bytes(b'x = "\xb0C"')
    for name, found in (("absent.toml", "No such file"), (".", "directory"), ("latin.toml", "byte 5")):
        with pytest.raises(ContentError) as refused:
            read_text(tmp_path / name)
        (problem,) = refused.value.problems
        assert found in problem.found
        assert str(tmp_path) in problem.file


def test_a_problem_leaves_out_what_it_has_not() -> None:
    """Empty parts give no stray colons."""
    assert str(Problem("a.toml", "", "", "x", "y")) == "a.toml: found x, expected y"
    assert str(Problem("a.toml", "p", "f", "x", "y", "z")) == "a.toml: p: f: found x, expected y; did you mean 'z'?"


def test_nearest_names_only_what_is_close() -> None:
    """A likely misspelling is named, a wild one is not."""
    assert nearest("travle", ["travel", "identity"]) == "travel"
    assert nearest("qqq", ["travel", "identity"]) == ""


def test_checklists_are_found_in_the_source_tree() -> None:
    """The folder with sheets lies in the package or beside it."""
    assert (checklists_folder() / "units").is_dir()


scalars = (
    st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.datetimes()
    | st.sampled_from(["amber", "white", 1, math.nan, 2**4000])
)
names = st.sampled_from([*Room.__struct_fields__, *Lamp.__struct_fields__, "limt", ""])
toml_values = st.recursive(
    scalars, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(names | st.text(max_size=4), inner, max_size=5)
)


@given(st.dictionaries(names, toml_values, max_size=8))
def test_any_table_gives_a_room_or_its_problems(table: dict[str, object]) -> None:
    """Whatever TOML can hold, `build` either returns the struct or says what is wrong, and never raises."""
    problems: list[Problem] = []
    built = build(Room, table, "room.toml", problems)
    assert (built is None) == bool(problems)
    for problem in problems:
        assert str(problem).startswith("room.toml: ")
        assert problem.found
        assert problem.expected
    if built is not None:
        assert msgspec.convert(msgspec.to_builtins(built), Room) == built


@given(toml_values)
def test_what_is_no_table_is_said_to_be_none(value: object) -> None:
    """A file part that should be a table and is something else gives exactly one problem."""
    problems: list[Problem] = []
    if not isinstance(value, Mapping):
        assert build(Room, value, "room.toml", problems) is None
        assert [problem.expected for problem in problems] == ["a table"]
