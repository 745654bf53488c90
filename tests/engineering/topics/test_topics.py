"""Tests of the whole gathering: every shipped sheet, no topic empty, ids once, no number that is not one."""

import math
import random
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from commission.content import checklists_folder
from commission.engineering.expectation import all_of
from commission.engineering.topics import TOPICS, topics_of
from commission.sheet import Sheet, load_sheet
from tests.engineering.units import sheet_of

SHEETS = sorted((checklists_folder() / "units").glob("*.toml"))


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.stem)
def test_every_shipped_sheet_says_much(path: Path) -> None:
    """Thirty figures and more, each with its origin, each id once."""
    found = list(all_of(topics_of(load_sheet(path)[0])))
    assert len(found) >= 20
    assert all(figure.origin and figure.name and figure.text for figure in found)
    assert not [figure.id for figure in found if math.isnan(figure.value)]
    assert len({figure.id for figure in found}) == len(found)


def test_a_poor_sheet_says_what_it_lacks() -> None:
    """With everything optional taken out, nothing fails and each lack names its field."""
    poor = stripped(sheet_of("xv-1101"))
    topics = topics_of(poor)
    lacks = {lack.field for topic in topics for lack in topic.lacks}
    assert {"valve.load", "fluid.viscosity_at_c", "orifices.spring_stroke_mm2", "pipeline", "reliability"} <= lacks
    assert len(topics) > 5


@pytest.mark.parametrize("seed", range(12))
def test_any_part_may_be_missing(seed: int) -> None:
    """A sheet with some optional parts left out never fails: figures get fewer, lacks get more."""
    chosen = random.Random(seed)
    sheet = sheet_of(chosen.choice(["xv-1101", "fcv-2204", "bdv-3307"]))
    some = stripped(sheet, keep=lambda: chosen.random() < 0.6)
    assert len(list(all_of(topics_of(some)))) <= len(list(all_of(topics_of(sheet)))) + 2


def stripped(sheet: Sheet, keep: Callable[[], bool] = lambda: False) -> Sheet:
    """The sheet without what may be left out."""
    changes: dict[str, object] = {}
    for part in ("valve", "supply", "environment", "orifices", "fluid"):
        holder = getattr(sheet, part)
        optional = {
            field.name: field.default if field.default is not msgspec.NODEFAULT else field.default_factory()
            for field in msgspec.structs.fields(type(holder))
            if not field.required and not keep()
        }
        changes[part] = msgspec.structs.replace(holder, **optional)
    gone = {part: None for part in ("pipeline", "reliability", "accumulator", "modulating") if not keep()}
    return msgspec.structs.replace(sheet, **changes, **gone)


def test_the_topics_stand_in_a_fixed_order() -> None:
    """What is printed first is what a technician sees first: volumes, forces, strokes."""
    assert [topic.__name__ for topic in TOPICS[:3]] == ["volumes", "forces", "strokes"]
