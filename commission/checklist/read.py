"""Reading a checklist: its file and what it includes, each strictly, all mistakes together."""

import re
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

import msgspec

from commission.checklist.check import contradictions, repeated
from commission.checklist.model import Caution, Checklist, Phase, Step, TemporaryKind, VoidRule
from commission.content import ContentError, Problem, Text, build, parse_toml, read_text
from commission.sheet.schema import schema_of


class ChecklistFile(msgspec.Struct, frozen=True, kw_only=True):
    """One file: a checklist, or a part that a checklist includes."""

    format: Literal[1]
    name: str = ""
    revision: str = ""
    include: tuple[str, ...] = ()
    phases: tuple[Phase, ...] = ()
    steps: tuple[Step, ...] = ()
    cautions: tuple[Caution, ...] = ()
    voids: tuple[VoidRule, ...] = ()
    temporary: tuple[TemporaryKind, ...] = ()


def load_checklist(path: Path) -> tuple[Checklist, tuple[Text, ...]]:
    """
    A checklist and the texts it was read from, itself first.

    Raises:
        ContentError: with every mistake of every file.
    """
    first = read_text(path)
    problems: list[Problem] = []
    texts = [first]
    for name in _included(first, problems):
        try:
            texts.append(read_text(path.parent / name))
        except ContentError as error:
            problems.extend(error.problems)
    if problems:
        raise ContentError(problems)
    return parse_checklist(tuple(texts)), tuple(texts)


def _included(first: Text, problems: list[Problem]) -> tuple[str, ...]:
    """Names of the files it includes, which lie beside it: a name with a folder in it is refused."""
    names = parse_toml(first).get("include", [])
    if not isinstance(names, list):
        return ()  # said by parse_checklist
    plain = re.compile(r"[\w-][\w .-]*\.toml")
    good = []
    for name in names:
        if not (isinstance(name, str) and plain.fullmatch(name)):
            problems.append(Problem(first.name, "", "include", repr(name), "the name of a TOML file beside this one"))
        elif name in good or name == first.name:
            problems.append(Problem(first.name, "", "include", repr(name), "each file once, and not itself"))
        else:
            good.append(name)
    return tuple(good)


@lru_cache(maxsize=8)
def parse_checklist(texts: tuple[Text, ...]) -> Checklist:
    """
    The checklist in the given texts, itself first, then what it includes.

    The last ones are remembered: every job in a folder carries the same few, and one takes 50 ms to read.

    Raises:
        ContentError: with every mistake of every text.
    """
    problems: list[Problem] = []
    parts = [(text, part) for text in texts if (part := _file(text, problems)) is not None]
    whole = [part for _, part in parts]
    for text, part in parts:
        if part.include and text is not texts[0]:
            problems.append(Problem(text.name, "", "include", repr(part.include), "nothing: it is included itself"))
    for place in ("cautions", "voids", "temporary"):
        ids = [item.id for part in whole for item in getattr(part, place)]
        problems.extend(repeated(texts[0].name, place, ids))
    if problems:
        raise ContentError(problems)
    checklist = Checklist(
        name=whole[0].name,
        revision=whole[0].revision,
        phases=tuple(phase for file in whole for phase in file.phases),
        steps=tuple(step for file in whole for step in file.steps),
        cautions={caution.id: caution for file in whole for caution in file.cautions},
        voids={rule.id: rule for file in whole for rule in file.voids},
        temporary={kind.id: kind for file in whole for kind in file.temporary},
    )
    found = contradictions(checklist, texts[0].name)
    if found:
        raise ContentError(found)
    return checklist


def checklist_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a checklist file, or of a part that one includes, for editors."""
    return schema_of(ChecklistFile, "Commissioning checklist")


def _file(text: Text, problems: list[Problem]) -> ChecklistFile | None:
    try:
        return build(ChecklistFile, parse_toml(text), text.name, problems)
    except ContentError as error:
        problems.extend(error.problems)
        return None
