"""Tests of single points: what contradicts the role of a point is refused as it is read."""

import pytest

from commission.sample import Table
from commission.sheet.points import MOVES, Point, RegisterType, WriteClass
from commission.sheet.roles import ROLES, RoleKind


@pytest.mark.parametrize(("kind", "words"), [("u16", 1), ("i16", 1), ("u32", 2), ("i32", 2), ("f32", 2)], ids=str)
def test_a_32_bit_number_takes_two_registers(kind: RegisterType, words: int) -> None:
    """The count of addresses follows from the type."""
    assert Point(role="travel", table=Table.INPUT, address=1, type=kind).words == words


def test_a_bit_takes_one_address() -> None:
    """A coil, a discrete input and a bit packed in a register are one address each."""
    assert Point(role="open_limit", table=Table.DISCRETE, address=1, one_means="made").words == 1
    assert Point(role="open_limit", table=Table.INPUT, address=1, bit=3, one_means="not made").words == 1


def refusal(role: str, table: Table = Table.COIL, **fields: object) -> str:
    """Why this point is refused."""
    with pytest.raises(ValueError) as refused:  # noqa: PT011  # the words are what is tested
        Point(role=role, table=table, address=1, **fields)  # type: ignore[arg-type]  # each field of its own type
    return str(refused.value)


def test_a_bit_says_what_one_means_in_the_words_of_its_role() -> None:
    """Any other word, and none at all, is refused with the two that are right."""
    for word in ("", "closed", "Made"):
        assert 'one_means = "made" or "not made"' in refusal("open_limit", Table.DISCRETE, one_means=word)


def test_a_packed_bit_says_which_and_a_single_one_does_not() -> None:
    """In a register a bit has a number; in a table of bits it has none."""
    assert "bit = 0 … 15" in refusal("open_limit", Table.INPUT, one_means="made")
    assert "no bit" in refusal("open_limit", Table.DISCRETE, one_means="made", bit=2)


def test_a_number_is_no_bit_and_is_not_written() -> None:
    """What is measured has no bit, no sense and no write class."""
    assert "only for a role that is a bit" in refusal("travel", Table.INPUT, bit=1)
    assert "only for a role that is a bit" in refusal("travel", Table.INPUT, one_means="made")
    for write in WriteClass:
        assert "has no write class" in refusal("travel", Table.HOLDING, write=write)
        assert "has no write class" in refusal("open_limit", Table.COIL, one_means="made", write=write)


def test_a_command_names_its_write_class() -> None:
    """Safety rule R8: a person names the class; it is never guessed."""
    commands = [name for name, role in ROLES.items() if role.kind is RoleKind.COMMAND]
    assert set(commands) >= MOVES
    for name in commands:
        assert "names its write class" in refusal(name)


@pytest.mark.parametrize("role", sorted(MOVES))
@pytest.mark.parametrize("write", [WriteClass.STOP, WriteClass.SETTING, WriteClass.RESET])
def test_r08_what_moves_the_valve_is_written_as_motion_only(role: str, write: WriteClass) -> None:
    """A command that moves the valve under a class that needs no leave would move it past a lock."""
    assert 'write = "motion"' in refusal(role, write=write)
    assert Point(role=role, table=Table.HOLDING, address=1, write=WriteClass.MOTION).write is WriteClass.MOTION


def test_r08_only_the_stop_is_sent_as_a_stop() -> None:
    """A stop goes unarmed and ahead of all; nothing else may."""
    assert "stop is sent without leave" in refusal("command_reset", write=WriteClass.STOP)
    assert Point(role="command_stop", table=Table.COIL, address=1, write=WriteClass.STOP).write is WriteClass.STOP
    assert Point(role="command_stop", table=Table.COIL, address=1, write=WriteClass.MOTION).write is WriteClass.MOTION


def test_a_setting_is_written_as_a_setting_or_not_at_all() -> None:
    """A set point of a protection is read-only or a setting, never a motion."""
    assert 'write = "setting", or none' in refusal("run_limit", Table.HOLDING, write=WriteClass.MOTION)
    assert Point(role="run_limit", table=Table.HOLDING, address=1).write is None


def test_a_coil_is_written_0_or_1() -> None:
    """What cannot be written to a coil is refused in the sheet, not on the wire."""
    assert "0 or 1" in refusal("command_stop", write=WriteClass.STOP, value=2)


def test_a_scale_of_zero_is_refused() -> None:
    """It would show every pressure as zero."""
    assert "scale other than 0" in refusal("cylinder_pressure", Table.INPUT, scale=0.0)
