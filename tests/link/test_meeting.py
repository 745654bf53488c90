"""The first exchanges with a unit."""

import pytest

from commission.link.faults import NoAnswer, WrongUnit
from commission.link.meeting import LinkFacts, check_identity, meet
from tests.link.lines import demo_sheet, open_line
from tests.link.servers import IDENTITY, Device, practice_objects
from tests.virtual_time import run_virtual

SHEET = demo_sheet()
both = pytest.mark.parametrize("rtu", [False, True], ids=["tcp", "rtu"])


def _meet(device: Device, *, rtu: bool, echo: bool = False) -> LinkFacts:
    async def main() -> LinkFacts:
        async with open_line(device, rtu=rtu) as (line, wire):
            wire.echo = echo
            return await meet(line, SHEET, "somewhere")

    return run_virtual(main())


@both
def test_round_trips_are_measured_and_set_the_test_time_out(*, rtu: bool) -> None:
    """A unit that takes 30 ms is found to, and three times its slowest short read is the time-out of a test."""
    facts = _meet(Device(turnaround_s=0.03), rtu=rtu)
    wire_s = (8 + 7 + 3.5) * 11 / 19200 if rtu else 0.0
    assert facts.round_trip.p50_s == pytest.approx(0.03 + wire_s, abs=0.004)
    assert facts.test_timeout_s == pytest.approx(3 * facts.round_trip.p99_s)
    assert (facts.identity, facts.practice, facts.echo) == (IDENTITY, None, False)
    assert facts.protocol == ("rtu" if rtu else "tcp")


@pytest.mark.parametrize(("turnaround_s", "timeout_s"), [(0.001, 0.04), (0.2, 0.25)])
def test_test_time_out_stays_within_40_and_250_ms(turnaround_s: float, timeout_s: float) -> None:
    """Neither a fast nor a slow unit takes the time-out out of its bounds."""
    assert _meet(Device(turnaround_s=turnaround_s), rtu=False).test_timeout_s == timeout_s


@both
def test_r12_echo_of_our_own_bytes_is_found(*, rtu: bool) -> None:
    """An adapter that sends our bytes back is noticed at connect, and the unit behind it is still met."""
    facts = _meet(Device(), rtu=rtu, echo=True)
    assert facts.echo
    assert facts.identity == IDENTITY


@both
def test_r12_echo_without_a_unit_is_said(*, rtu: bool) -> None:
    """Where only our own bytes come back, the sentence says that no unit answers."""
    with pytest.raises(NoAnswer, match="the adapter echoes, and no unit answers"):
        _meet(Device(hang_reads=True), rtu=rtu, echo=True)


def test_another_unit_is_refused() -> None:
    """A unit with another identity code is not the one of the sheet."""
    device = Device()
    device.inputs[0] = 1102
    with pytest.raises(WrongUnit, match=r"code 1102; the sheet of XV-1101 says 1101"):
        _meet(device, rtu=False)


def test_unit_without_the_identity_register_asks_how_its_list_counts() -> None:
    """The first read of a list that counts from 1 finds no register, and the question is asked at once."""
    device = Device()
    del device.inputs[0]
    with pytest.raises(WrongUnit, match=r"no input register 0 \(identity code\): does its list count from 1\?"):
        _meet(device, rtu=False)


def test_r15_practice_unit_sets_unit_time_to_its_speed() -> None:
    """From the meeting on, unit time runs at the speed of the practice unit, and at 1 again with any other."""

    async def main() -> None:
        async with open_line(Device(objects=practice_objects("20")), rtu=False) as (line, wire):
            facts = await meet(line, SHEET, "somewhere")
            assert facts.practice is not None
            assert line.clock.speed == 20
            assert await check_identity(line, SHEET) == IDENTITY
            wire.device.objects = Device().objects
            assert (await meet(line, SHEET, "somewhere")).practice is None
            assert line.clock.speed == 1

    run_virtual(main())
