"""The sum of safety rule R22, by hand."""

import msgspec
import pytest

from commission.procedures.turn_round import TurnRound


def the_sum(**changed: float) -> TurnRound:
    """1.7 %/s, a quarter of a second of silence, 0.12 s of command, 0.13 s to turn; 15 % of 20 %."""
    parts = {"speed": 0.017, "gap_s": 0.25, "latency_s": 0.12, "reversal_s": 0.13, "target": 0.15, "hard_limit": 0.2}
    return msgspec.convert(parts | changed, TurnRound)


def test_a_slow_path_has_room() -> None:
    """1.7 %/s x 0.5 s = 0.85 %, of 5 %."""
    slow = the_sum()
    assert slow.way == pytest.approx(0.0085)
    assert slow.room == pytest.approx(0.05)
    assert slow.holds
    assert "= 0.8 % is less than 20 - 15 = 5 %" in str(slow) or "= 0.9 % is less than 20 - 15 = 5 %" in str(slow)


def test_r22_the_full_speed_path_has_none() -> None:
    """14 %/s: in half a second from 15 % to 22 %, past the limit of 20 %."""
    fast = the_sum(speed=0.14)
    assert fast.way == pytest.approx(0.07)
    assert not fast.holds
    assert "is NOT less than" in str(fast)


def test_r22_each_part_counts() -> None:
    """Any of them, long enough, refuses it; what only just fits is refused too."""
    for part in ("gap_s", "latency_s", "reversal_s"):
        assert not the_sum(**{part: 3.0}).holds
    edge = the_sum(gap_s=0.05 / 0.017, latency_s=0.0, reversal_s=0.0)
    assert edge.way == pytest.approx(edge.room)
    assert not the_sum(gap_s=0.051 / 0.017, latency_s=0.0, reversal_s=0.0).holds
