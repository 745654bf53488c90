"""
Content that a service engineer edits: where it lies, its digest, and reading it strictly.

Checklists, sheets, cautions and limits are TOML. They are read into typed structs field by field, so that all mistakes
of a file are reported together, each with the file, the place in it, the field, what was found, what was expected and
the nearest name that is known.
"""

import difflib
import hashlib
import math
import reprlib
import tomllib
import types
import typing
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import msgspec
from msgspec.structs import FieldInfo

T = TypeVar("T", bound=msgspec.Struct)


class Problem(msgspec.Struct, frozen=True):
    """
    One mistake in a file, in words.

    Args:
        file: Name of the file.

        place: Where in it, as `point 'travel'` or `step 'K1', limit`; empty for the whole file.

        field: The field, or empty.

        found: What stands there.

        expected: What should.

        nearest: The nearest name that is known, or empty.
    """

    file: str
    place: str
    field: str
    found: str
    expected: str
    nearest: str = ""

    def __str__(self) -> str:
        where = ": ".join(part for part in (self.file, self.place, self.field) if part)
        hint = f"; did you mean {self.nearest!r}?" if self.nearest else ""
        return f"{where}: found {self.found}, expected {self.expected}{hint}"


class ContentError(Exception):
    """A file that cannot be used, with everything that is wrong with it."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = tuple(problems)


def checklists_folder() -> Path:
    """The folder with checklists and sheets: inside the installed package, or beside it in a source tree."""
    packed = Path(__file__).parent / "checklists"
    return packed if packed.is_dir() else Path(__file__).parent.parent / "checklists"


def nearest(name: str, known: typing.Iterable[str]) -> str:
    """The known name most like `name`, or empty where none is close."""
    close = difflib.get_close_matches(name, list(known), n=1)
    return close[0] if close else ""


class Text(msgspec.Struct, frozen=True):
    """The text of a content file as it was used, with its name and SHA-256 digest: kept whole in the record."""

    name: str
    text: str

    @property
    def digest(self) -> str:
        """SHA-256 of the text in UTF-8, hex."""
        return hashlib.sha256(self.text.encode()).hexdigest()


def read_text(path: Path) -> Text:
    """
    The text of a content file.

    Raises:
        ContentError: it cannot be read or is not UTF-8.
    """
    try:
        return Text(path.name, path.read_text(encoding="utf-8-sig"))  # some editors put a mark at the start
    except OSError as error:
        raise ContentError([Problem(str(path), "", "", error.strerror or str(error), "a readable file")]) from error
    except UnicodeDecodeError as error:
        raise ContentError(
            [Problem(str(path), "", "", f"byte {error.start} that is not UTF-8", "UTF-8 text")]
        ) from error


def parse_toml(source: Text) -> dict[str, Any]:
    """
    The tables of a TOML text.

    Raises:
        ContentError: the text is not TOML; the message carries line and column.
    """
    try:
        return tomllib.loads(source.text)
    except RecursionError as error:
        raise ContentError([Problem(source.name, "", "", "lists or tables nested too deep", "TOML")]) from error
    except ValueError as error:  # TOMLDecodeError is one; a number of 5000 digits is another
        raise ContentError([Problem(source.name, "", "", str(error), "TOML")]) from error


def build(kind: type[T], table: object, file: str, problems: list[Problem], place: str = "") -> T | None:
    """
    A struct from a TOML table, or None after adding everything that is wrong with it to `problems`.

    Nested structs, tuples of structs, dictionaries of structs and optional structs are followed; any other field is
    converted by its annotation. A `ValueError` out of the struct's `__post_init__` becomes a problem too.
    """
    if not isinstance(table, Mapping):
        problems.append(Problem(file, place, "", _short(table), "a table"))
        return None
    before = len(problems)
    fields = _fields_of(kind)
    problems.extend(
        Problem(file, place, str(key), "an unknown field", "a known field", nearest(str(key), fields))
        for key in sorted(table.keys() - fields.keys())
    )
    values: dict[str, Any] = {}
    for name, field in fields.items():
        if name in table:
            values[field.name] = _value(field.type, table[name], file, problems, place, name)
        elif field.required:
            problems.append(Problem(file, place, name, "nothing", _describe(field.type)))
    if len(problems) > before:
        return None
    try:
        return kind(**values)
    except ValueError as error:
        problems.append(Problem(file, place, "", "a contradiction", str(error)))
        return None


@cache
def _fields_of(kind: type[msgspec.Struct]) -> Mapping[str, FieldInfo]:
    """By the name in a file; asked once a class, because the library works its annotations out anew each time."""
    return {field.encode_name: field for field in msgspec.structs.fields(kind)}


def load(kind: type[T], source: Text) -> T:
    """
    A struct from the text of a file.

    Raises:
        ContentError: with all problems together.
    """
    problems: list[Problem] = []
    loaded = build(kind, parse_toml(source), source.name, problems)
    if loaded is None or problems:
        raise ContentError(problems)
    return loaded


def _value(kind: Any, raw: object, file: str, problems: list[Problem], place: str, name: str) -> Any:
    struct = _optional_struct(kind)
    if struct is not None:
        return build(struct, raw, file, problems, _join(place, name))
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin is tuple and arguments and _is_struct(arguments[0]):
        return _items(arguments[0], raw, file, problems, place, name)
    if origin in (dict, Mapping) and arguments[1] is not Any and isinstance(raw, Mapping):
        return {key: _value(arguments[1], item, file, problems, place, f"{name} {key!r}") for key, item in raw.items()}
    try:
        converted = msgspec.convert(raw, kind)
    except (ValueError, RecursionError):  # of msgspec, or of Python about a number too long to print
        choices = _choices(kind)
        close = nearest(raw, choices) if isinstance(raw, str) else ""
        problems.append(Problem(file, place, name, _short(raw), _describe(kind), close))
        return None
    if not _all_finite(converted):
        problems.append(Problem(file, place, name, _short(raw), "a finite number"))
    return converted


def _all_finite(converted: object) -> bool:
    """TOML may say `nan` and `inf`; no limit and no setting is either, and every comparison with NaN is false."""
    waiting = [converted]
    while waiting:
        item = waiting.pop()
        if isinstance(item, float) and not math.isfinite(item):
            return False
        if isinstance(item, Mapping):
            waiting.extend(item.values())
        elif isinstance(item, list | tuple):
            waiting.extend(item)
    return True


def _items(kind: type[Any], raw: object, file: str, problems: list[Problem], place: str, name: str) -> tuple[Any, ...]:
    if not isinstance(raw, list):
        problems.append(Problem(file, place, name, _short(raw), "a list of tables"))
        return ()
    singular = name.removesuffix("s")
    items = []
    for number, item in enumerate(raw, start=1):
        label = _label(item) or f"number {number}"
        items.append(build(kind, item, file, problems, _join(place, f"{singular} {label}")))
    return tuple(items)


def _label(item: object) -> str:
    if isinstance(item, Mapping):
        for key in ("id", "role", "name"):
            if isinstance(item.get(key), str):
                return repr(item[key])
    return ""


def _join(place: str, name: str) -> str:
    return f"{place}, {name}" if place else name


def _is_struct(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, msgspec.Struct)


def _optional_struct(kind: Any) -> type[msgspec.Struct] | None:
    if _is_struct(kind):
        return typing.cast("type[msgspec.Struct]", kind)
    if typing.get_origin(kind) in (typing.Union, types.UnionType):
        structs = [option for option in typing.get_args(kind) if _is_struct(option)]
        return structs[0] if structs else None
    return None


def _choices(kind: Any) -> list[str]:
    if typing.get_origin(kind) is typing.Literal:
        return [str(choice) for choice in typing.get_args(kind)]
    if isinstance(kind, type) and issubclass(kind, str) and hasattr(kind, "__members__"):
        return [str(member.value) for member in typing.cast("Any", kind)]
    return [choice for option in typing.get_args(kind) for choice in _choices(option)]


_PLAIN = {str: "text", int: "a whole number", float: "a number", bool: "true or false", type(None): "nothing"}


def _describe(kind: Any) -> str:
    choices = _choices(kind)
    if choices:
        return "one of " + ", ".join(choices)
    if kind in _PLAIN:
        return _PLAIN[kind]
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin is typing.Annotated:
        return _describe(arguments[0]) + _bounds(arguments[1:])
    if origin in (typing.Union, types.UnionType):
        return " or ".join(_describe(option) for option in arguments if option is not type(None))
    if origin is tuple:
        return "a list of " + _describe(arguments[0])
    return "a table"


def _bounds(metadata: tuple[Any, ...]) -> str:
    words = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}
    limits = [
        f"{word} {getattr(meta, name)}"
        for meta in metadata
        for name, word in words.items()
        if getattr(meta, name, None) is not None
    ]
    return " " + " and ".join(limits) if limits else ""


_REPR = reprlib.Repr()
_REPR.maxlevel = 3
_REPR.maxstring = _REPR.maxother = _REPR.maxlong = 80


def _short(raw: object) -> str:
    if isinstance(raw, bool):
        return str(raw).lower()  # as the file has it
    try:
        text = _REPR.repr(raw)
    except ValueError:  # a hexadecimal number too long for Python to print
        text = "a number of thousands of digits"
    return text if len(text) <= 60 else text[:57] + "..."
