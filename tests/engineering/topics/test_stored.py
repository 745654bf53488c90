"""Tests of stored oil and gas as they are told."""

from commission.engineering.topics.stored import stored, temperatures_c
from tests.engineering.units import unit_of


def test_where_the_ideal_law_is_out_by_more_than_a_gauge() -> None:
    """Real nitrogen is told, the ideal number beside it; at the sheet's own temperature they are one."""
    topic = stored(unit_of("xv-1101"))
    cold, there = topic.find("precharge.-40"), topic.find("precharge.20")
    assert cold is not None
    assert there is not None
    assert "out by more than a gauge" in cold.note
    assert there.note == ""
    assert there.text == "95.0 bar"


def test_restarts_by_cooling_only_where_it_can_get_so_cold() -> None:
    """A large accumulator on a small cylinder never starts by cooling."""
    assert stored(unit_of("fcv-2204")).find("trapped.cooling") is None
    assert stored(unit_of("xv-1101")).find("trapped.cooling") is not None
    assert temperatures_c(unit_of("xv-1101")) == (-40.0, 0.0, 20.0, 45.0)
