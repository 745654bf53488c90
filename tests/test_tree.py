"""Tests of the tree: tests mirror the package, public things are described, files are short, no machine shows."""

import ast
import re
import statistics
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE, TESTS = ROOT / "commission", ROOT / "tests"
MODULES = sorted(path for path in PACKAGE.rglob("*.py") if "checklists" not in path.parts)
TEST_FILES = sorted(TESTS.rglob("test_*.py"))

APART = frozenset({"published", "rules", "journeys", "benchmarks", "deep"})
"""Folders of tests that are about the whole rather than about one module."""

WITHOUT_MODULE = {
    "tests/test_tree.py": "about the tree itself",
    "tests/terminal/test_frames.py": "about every screen at every size, theme and state of the link",
    "tests/test_layers.py": "about what the command line loads",
    "tests/test_readme.py": "about the examples in README.md",
    "tests/record/test_killed_writer.py": "about the writer as a process that is killed",
    "tests/link/test_encode.py": "about values on their way to the wire, across two modules",
    "tests/link/test_late_answers.py": "about the late-answer trap, across the whole link",
    "tests/link/test_peers.py": "about our client against other servers",
    "tests/analysis/test_timing_coverage.py": "about how often the intervals of several modules hold the truth",
    "tests/analysis/test_figure_coverage.py": "about how often the intervals of several modules hold the truth",
    "tests/analysis/test_response_coverage.py": "about how often the intervals of several modules hold the truth",
    "tests/analysis/test_rest_coverage.py": "about how often the intervals of several modules hold the truth",
    "tests/analysis/test_span_coverage.py": "about how often the intervals of several modules hold the truth",
    "tests/analysis/test_level_coverage.py": "about how often the intervals of several modules hold the truth",
    "tests/analysis/test_partial_coverage.py": "about how often the intervals of several modules hold the truth",
    "tests/analysis/test_trip_coverage.py": "about how often the intervals of several modules hold the truth",
    "tests/analysis/test_kernels.py": "about every stored figure under several numerical kernels",
    "tests/procedures/test_playbook.py": "about the playbook that procedure tests are written in",
    "tests/energy/test_diagram.py": "about the diagram in DEVELOPERS.md",
    "tests/engineering/test_station_papers.py": "about the demonstration station, as above",
    "tests/engineering/test_station.py": "about the demonstration station's data sheets, across all of engineering",
    "tests/engineering/test_against_practice.py": "about the whole of engineering against the practice unit",
    "tests/engineering/test_geometry_and_energy.py": "about mechanisms and strokes by geometry and energy",
    "tests/engineering/test_told.py": "about every figure of every topic, across modules",
    "tests/engineering/test_dimensions.py": "about the dimensions of all formulas of engineering",
    "tests/procedures/test_strokes.py": "about the strokes that procedure tests are given",
}
"""Test files that belong to no single module, with the reason."""

WITHOUT_TEST = {
    "commission/__init__.py": "a page and a version",
    "commission/__main__.py": "one call, made by every test that runs the program",
}
"""Modules that need no test file of their own, with the reason."""

LONGEST = 500
TABLES = {"commission/job/bodies.py": "a table of data: one class for each kind of event"}
"""Files that may be longer, with the reason (style: tables of data excepted)."""

FOREIGN = re.compile(
    r"/(?:work|home|root|tmp)/\w|https?://(?!json-schema\.org/|127\.0\.0\.1|github\.com/|www\.\w+\.(?:org|gov)/)[\w-]+(?:\.[\w-]+)+"
)


def name_of(path: Path) -> str:
    """The path from the root, with forward slashes."""
    return path.relative_to(ROOT).as_posix()


def mirror_of(module: Path) -> Path:
    """Where the tests of a module are: its name in its folder; those of a package bear the package's name."""
    folder = TESTS / module.parent.relative_to(PACKAGE)
    return folder / (f"test_{module.parent.name}.py" if module.name == "__init__.py" else f"test_{module.name}")


def definitions(path: Path) -> list[ast.AST]:
    """Public classes and functions of a module, and of its public classes."""
    found: list[ast.AST] = []
    waiting: list[ast.AST] = [ast.parse(path.read_text(encoding="utf-8"))]
    while waiting:
        for node in getattr(waiting.pop(), "body", []):
            if isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) and not node.name.startswith(
                "_"
            ):
                found.append(node)
                if isinstance(node, ast.ClassDef):
                    waiting.append(node)
    return found


def has_code(path: Path) -> bool:
    """Whether a module defines anything, rather than only naming what others define."""
    nodes = ast.parse(path.read_text(encoding="utf-8")).body
    return any(isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) for node in nodes)


@pytest.mark.parametrize("module", MODULES, ids=name_of)
def test_every_module_has_its_test_file(module: Path) -> None:
    """commission/x/y.py is tested by tests/x/test_y.py."""
    if name_of(module) in WITHOUT_TEST or not has_code(module):
        return
    assert mirror_of(module).is_file(), f"{name_of(mirror_of(module))} is missing"


@pytest.mark.parametrize("test_file", TEST_FILES, ids=name_of)
def test_every_test_file_has_its_module(test_file: Path) -> None:
    """A test file that mirrors nothing is in a folder about the whole, or stands in the list with its reason."""
    folder = test_file.parent.relative_to(TESTS)
    if APART & set(folder.parts) or name_of(test_file) in WITHOUT_MODULE:
        return
    stem = test_file.stem.removeprefix("test_")
    package = PACKAGE / folder
    candidates = [package / f"{stem}.py", package / "__init__.py" if stem == package.name else package / f"{stem}.py"]
    assert any(candidate.is_file() for candidate in candidates), f"no module {name_of(candidates[0])}"


def test_the_lists_of_exceptions_name_files_that_are_there() -> None:
    """An exception for a file that is gone hides the next one."""
    for name in TABLES:
        assert (ROOT / name).is_file(), name
    assert not [name for name in (*WITHOUT_MODULE, *WITHOUT_TEST) if not name.endswith(".py")]


@pytest.mark.parametrize("module", MODULES, ids=name_of)
def test_public_definitions_say_what_they_are(module: Path) -> None:
    """Each module, public class and public function has a docstring, and each function is annotated."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    assert ast.get_docstring(tree), "the module has no docstring"
    for node in definitions(module):
        assert isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
        assert ast.get_docstring(node), f"{node.name}, line {node.lineno}, has no docstring"
        if not isinstance(node, ast.ClassDef):
            assert node.returns is not None, f"{node.name}, line {node.lineno}, does not say what it returns"


@pytest.mark.parametrize("test_file", TEST_FILES, ids=name_of)
def test_every_test_states_the_behaviour(test_file: Path) -> None:
    """A test without a docstring says only how, not what for."""
    for node in ast.walk(ast.parse(test_file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and node.name.startswith("test_"):
            assert ast.get_docstring(node), f"{node.name}, line {node.lineno}, has no docstring"


@pytest.mark.parametrize("module", MODULES, ids=name_of)
def test_no_file_is_longer_than_500_lines(module: Path) -> None:
    """Tables of data are excepted, by name."""
    lines = len(module.read_text(encoding="utf-8").splitlines())
    assert lines <= LONGEST or name_of(module) in TABLES, f"{lines} lines"


def test_files_are_short_as_a_rule() -> None:
    """Half of the modules have at most 120 lines, nine of ten at most 300."""
    lengths = [len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES if name_of(path) not in TABLES]
    assert statistics.median(lengths) <= 120
    assert statistics.quantiles(lengths, n=10)[-1] <= 300


def test_functions_are_short_as_a_rule() -> None:
    """Half of the functions have at most 8 lines of body, nine of ten at most 30 with everything, none over 80."""
    lengths = {
        f"{name_of(path)}: {node.name}": (node.end_lineno or node.lineno) - node.lineno + 1 - _documentation(node)
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    }
    assert not {name: length for name, length in lengths.items() if length > 80}
    assert statistics.median(lengths.values()) <= 8
    assert statistics.quantiles(lengths.values(), n=10)[-1] <= 30


def _documentation(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    first = node.body[0]
    if ast.get_docstring(node) is None or first.end_lineno is None:
        return 0
    return first.end_lineno - first.lineno + 1


def test_there_is_at_least_as_much_test_as_source() -> None:
    """Lines of tests against lines of source."""

    def total(folder: Path) -> int:
        return sum(len(path.read_text(encoding="utf-8").splitlines()) for path in folder.rglob("*.py"))

    assert total(TESTS) >= total(PACKAGE)


def test_there_is_no_drawer_for_odds_and_ends() -> None:
    """Each file is named for what it holds."""
    drawers = {"utils", "util", "helpers", "helper", "common", "misc", "manager", "base", "tools"}
    assert not [name_of(path) for path in PACKAGE.rglob("*") if path.stem in drawers]


def test_no_machine_shows_through() -> None:
    """No tracked file names a folder of one machine or a host that is not a standard's own."""
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode != 0:
        pytest.skip("not a checkout")
    for name in listed.stdout.splitlines():
        path = ROOT / name
        if path == Path(__file__) or path.suffix not in (".py", ".toml", ".md", ".tcss", ".typ", ".csv", ".json"):
            continue
        if path.is_file():
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
                assert not FOREIGN.search(line), f"{name}, line {number}: {line.strip()[:100]}"
