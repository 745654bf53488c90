"""Where a partial stroke turns, and when it left that place."""

import pytest

from commission.analysis.turning import between_readings, left_turn, turning_budget
from commission.sheet.decode import Reading

NOISE = 2e-4


def ways(stands_s: float, period_s: float = 0.1) -> tuple[list[Reading], list[Reading]]:
    """Out at 1.5 %/s for ten seconds from 1 s on, some time there, back at 0.75 %/s; without noise."""

    def away(at_s: float) -> float:
        if at_s < 11:
            return max(0.0, 0.015 * (at_s - 1))
        return max(0.0, 0.15 - 0.0075 * max(0.0, at_s - 11 - stands_s))

    read = [Reading(away(period_s * n), round(period_s * n * 1e9), 0) for n in range(round(35 / period_s))]
    turn = max(range(len(read)), key=lambda i: read[i].value)
    return read[: turn + 1], read[turn:]


@pytest.mark.parametrize("stands_s", [0.0, 0.5, 2.0])
def test_the_way_back_begins_where_the_valve_leaves(stands_s: float) -> None:
    """Not where it came to stand: 11 s and as long as it stood."""
    left = left_turn(*ways(stands_s), NOISE, 0)
    assert left is not None
    assert left.at_ns / 1e9 == pytest.approx(11 + stands_s, abs=0.03)


def test_two_lines_that_meet_between_readings_hide_a_peak() -> None:
    """Up by 3, down by 1 a reading: at most 0.75 beyond both; a level side hides none."""
    assert between_readings(3.0, 1.0) == pytest.approx(0.75)
    assert between_readings(0.0, 1.0) == 0.0


def test_a_slow_line_knows_the_turning_point_less() -> None:
    """What may lie between two readings is a line of its own; a valve that stands there hides nothing."""
    coarse, _ = turning_budget(*ways(0.0, 0.5), NOISE)
    fine, near = turning_budget(*ways(2.0, 0.05), NOISE)
    assert [line.name for line in coarse.lines] == ["noise of travel", "farther between two readings"]
    assert coarse.expanded() > 4 * fine.expanded()
    assert near > 30


def test_no_way_back_has_no_beginning() -> None:
    """Nothing after the farthest reading, or too little of it."""
    out, back = ways(0.0)
    assert left_turn(out, back[:1], NOISE, 0) is None
    assert left_turn(out, [back[0]] * 9, NOISE, 0) is None
