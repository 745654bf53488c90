"""Tests of reading a checklist with what it includes, and of its schema."""

import tomllib
from pathlib import Path

import jsonschema
import pytest

from commission.checklist import checklist_schema, load_checklist, parse_checklist
from commission.content import ContentError, Text, checklists_folder
from tests.checklist.small import MAIN, PART, problems_of, small, texts

SHIPPED = sorted(path for path in checklists_folder().glob("*.toml") if "include" in tomllib.loads(path.read_text()))


def written(folder: Path, main: str = MAIN, part: str = PART) -> Path:
    """Both files in a folder."""
    (folder / "main.toml").write_text(main, encoding="utf-8")
    (folder / "cautions.toml").write_text(part, encoding="utf-8")
    return folder / "main.toml"


def refused(path: Path) -> list[str]:
    """Why the checklist there is refused."""
    with pytest.raises(ContentError) as error:
        load_checklist(path)
    return [str(problem) for problem in error.value.problems]


def test_a_checklist_is_read_with_what_it_includes(tmp_path: Path) -> None:
    """Steps of the one file show cautions of the other; both texts are kept, itself first."""
    checklist, kept = load_checklist(written(tmp_path))
    assert checklist == small()
    assert kept == texts()
    assert checklist.cautions["pinch"].text == "Stem can move. No hand inside."
    assert (list(checklist.voids), list(checklist.temporary)) == (["closed-limit"], ["setting"])


@pytest.mark.parametrize(
    "name", ["../cautions.toml", "/etc/passwd", "a/b.toml", "cautions.txt", "..toml/x.toml", "", "a\\u0000.toml", 7],
    ids=repr,
)  # fmt: skip
def test_only_files_beside_it_are_included(tmp_path: Path, name: object) -> None:
    """A name with a folder in it, or that is none, is refused before anything is opened."""
    listed = str(name) if isinstance(name, int) else f'"{name}"'
    problems = refused(written(tmp_path, MAIN.replace('"cautions.toml"', listed)))
    assert len(problems) == 1
    assert "main.toml: include: found" in problems[0]
    assert "expected the name of a TOML file beside this one" in problems[0]


@pytest.mark.parametrize("listed", ['"cautions.toml", "cautions.toml"', '"main.toml"'])
def test_each_file_is_included_once_and_not_itself(tmp_path: Path, listed: str) -> None:
    """Twice would double every id."""
    assert "each file once, and not itself" in refused(written(tmp_path, MAIN.replace('"cautions.toml"', listed)))[0]


def test_an_include_that_is_no_list_is_a_problem(tmp_path: Path) -> None:
    """A number or a text where a list is wanted is said, not iterated."""
    for given in ("5", '"cautions.toml"'):
        problems = refused(written(tmp_path, MAIN.replace('["cautions.toml"]', given)))
        assert [problem for problem in problems if "include: found" in problem and "a list of text" in problem]


def test_an_absent_include_is_named(tmp_path: Path) -> None:
    """The message names the file that cannot be read."""
    problems = refused(written(tmp_path, MAIN.replace("cautions.toml", "absent.toml")))
    assert "absent.toml: found No such file" in problems[0]


def test_an_included_file_includes_nothing() -> None:
    """One level: what is included further would be left out silently."""
    problems = problems_of(("cautions = [{ id", 'include = ["more.toml"]\ncautions = [{ id'))
    assert problems == ["cautions.toml: include: found ('more.toml',), expected nothing: it is included itself"]


def test_mistakes_of_all_files_are_told_together() -> None:
    """A file that is no TOML does not hide what is wrong in the other."""
    with pytest.raises(ContentError) as error:
        parse_checklist((Text("main.toml", MAIN.replace('state = "any"', 'state = "anny"')), Text("c.toml", "x = ")))
    found = [str(problem) for problem in error.value.problems]
    assert len(found) == 2
    assert "main.toml: step 'B1': state: found 'anny'" in found[0]
    assert found[1].startswith("c.toml: found ")


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ("cautions = [{", 'cautions = [{ id = "pinch", word = "NOTICE", text = "x" }, {', "cautions 'pinch'"),
        ("voids = [{", 'voids = [{ id = "closed-limit", touched = "x", voids = [] }, {', "voids 'closed-limit'"),
        ("temporary = [{", 'temporary = [{ id = "setting", name = "x" }, {', "temporary 'setting'"),
    ],
    ids=["caution", "void rule", "temporary kind"],
)
def test_an_id_that_stands_twice_is_refused(old: str, new: str, place: str) -> None:
    """The later would silently replace the earlier: a DANGER by a NOTICE."""
    assert [problem for problem in problems_of((old, new)) if f"{place}: id: found the same id twice" in problem]


def test_a_checklist_without_any_text_is_refused() -> None:
    """An empty file asks for its format."""
    with pytest.raises(ContentError, match="format: found nothing, expected one of 1"):
        parse_checklist((Text("empty.toml", ""),))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_shipped_checklist_is_sound(path: Path) -> None:
    """The checklists in the package load without a problem."""
    checklist, _ = load_checklist(path)
    assert checklist.steps


def test_the_schema_accepts_what_is_read_and_marks_what_is_not() -> None:
    """JSON Schema for editors (jsonschema as independent reference), for a checklist and for a part."""
    validator = jsonschema.Draft202012Validator(checklist_schema())
    validator.check_schema(checklist_schema())
    for text in (MAIN, PART, *(path.read_text(encoding="utf-8") for path in SHIPPED)):
        assert list(validator.iter_errors(tomllib.loads(text))) == []
    for old, new in (
        ('state = "any"', 'state = "anny"'),
        ("moves = true\ndo", "mvoes = true\ndo"),
        ("times = 3", "times = 0"),
    ):
        assert list(validator.iter_errors(tomllib.loads(MAIN.replace(old, new)))), new


def test_the_same_texts_are_read_once_and_mistakes_each_time() -> None:
    """A folder of jobs that carry the same checklist opens as fast as one; a mistake is told to everyone who asks."""
    sound = texts(MAIN, PART)
    assert parse_checklist(sound) is parse_checklist(texts(MAIN, PART))
    for _ in range(2):
        with pytest.raises(ContentError):
            parse_checklist((Text("broken.toml", "steps = 3"),))
