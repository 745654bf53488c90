"""Connecting and leaving, in words that both faces say (safety rule R16)."""

from pathlib import Path

import msgspec
import pytest

from commission.face.connecting import connected_words, leaving_words, listening_words
from commission.link.url import parse_url
from tests.supervise.rig import demo_sheet
from tests.virtual_time import run_virtual
from tests.visiting import visiting


def test_r16_only_a_serial_line_is_listened_to() -> None:
    """For how long, and that nothing is sent meanwhile."""
    assert listening_words(parse_url("tcp://127.0.0.1:5020")) == ""
    words = listening_words(parse_url("rtu:///dev/ttyUSB0"))
    assert words == "Listening to /dev/ttyUSB0 for 5 s before anything is sent."


@pytest.mark.parametrize("rtu", [False, True])
def test_connecting_says_what_was_learnt(rtu: bool, tmp_path: Path) -> None:  # noqa: FBT001  # which wire
    """Who answers, how fast, how soon a stop arrives, that it is a practice unit; and that a serial line was quiet."""

    async def main() -> None:
        async with visiting(tmp_path, rtu=rtu) as there:
            link = there.visit.link
            assert link is not None
            words = connected_words(link, there.unit.address)
            assert words.startswith("Nobody else was heard in 5 s. Connected" if rtu else "Connected")
            assert f"a stop reaches the unit in {link.facts.make_safe_s:.2f} s" in words
            assert "PRACTICE unit at speed 1" in words
            assert "echoes" not in words

    run_virtual(main())


@pytest.mark.parametrize("moves", [False, True])
def test_r16_leaving_says_what_the_unit_will_do(moves: bool) -> None:  # noqa: FBT001  # whether it moves
    """By its sheet; with live rules where that moves the valve."""
    sheet = demo_sheet()
    behaviour = msgspec.structs.replace(sheet.behaviour, lost_contact_moves=moves)
    words = leaving_words(msgspec.structs.replace(sheet, behaviour=behaviour))
    assert words.startswith(f"On leaving, the unit will: {behaviour.lost_contact}")
    assert ("THIS MOVES THE VALVE" in words) == moves
