"""What every control unit does alike: where orders are taken from, what a reset needs, and the alarm relay."""

import msgspec
import pytest

from commission.practice.orders import Inputs, Refused, Relay, Selector, demand_place
from tests.practice.made import SHEET, unit_of

SEEN = unit_of(SHEET).inputs()


def now(**changed: object) -> Inputs:
    """Inputs of a unit in good order but for these."""
    return msgspec.structs.replace(SEEN, **changed)


@pytest.mark.parametrize("selector", list(Selector))
@pytest.mark.parametrize("remote", [True, False])
def test_an_order_is_taken_from_where_the_selector_points(selector: Selector, *, remote: bool) -> None:
    """From nowhere else, and in OFF from nowhere."""
    if selector is (Selector.REMOTE if remote else Selector.LOCAL):
        demand_place(now(selector=selector), remote=remote)
        return
    with pytest.raises(Refused, match=f"selector in {selector}"):
        demand_place(now(selector=selector), remote=remote)


@pytest.mark.parametrize(
    ("changed", "role"),
    [
        ({"fluid_low": True}, "alarm_fluid"),
        ({"oil_cold": True}, "alarm_oil_cold"),
        ({"hand_lever_stowed": False}, "alarm_not_automatic"),
        ({"selector": Selector.LOCAL}, "alarm_not_automatic"),
    ],
)
def test_a_condition_shows_and_goes_by_itself(changed: dict[str, object], role: str) -> None:
    """And the relay with it: it is energised when healthy."""
    relay = Relay(SHEET)
    assert relay.energised
    relay.watch(0.1, now(**changed))
    assert (relay.alarms, relay.energised) == ({role}, False)
    relay.watch(0.1, now())
    assert relay.energised


def test_low_supply_has_to_last() -> None:
    """Two seconds below nine tenths: a motor start alone is no alarm."""
    relay = Relay(SHEET)
    low = now(supply_v=0.89 * SHEET.supply.control_v)
    relay.watch(1.9, low)
    assert relay.energised
    relay.watch(0.2, low)
    assert relay.alarms == {"alarm_supply"}


def test_silence_on_the_link_drops_the_relay() -> None:
    """After the sheet's time, and without an alarm of its own."""
    relay, guard_s = Relay(SHEET), SHEET.link.guard_s or 0.0
    relay.watch(0.1, now(link_silent_s=guard_s + 0.1))
    assert (relay.contact_lost, relay.energised, relay.alarms) == (True, False, set())


def test_a_reset_needs_its_place_and_a_healthy_loop() -> None:
    """It clears what stays until then, and nothing that still stands."""
    relay = Relay(SHEET)
    relay.alarms |= {"alarm_run_time", "alarm_starts", "alarm_travel", "alarm_fluid"}
    with pytest.raises(Refused, match="selector in LOCAL"):
        relay.reset(now(selector=Selector.LOCAL), remote=True)
    with pytest.raises(Refused, match="ESD loop open"):
        relay.reset(now(esd_loop=False), remote=False)
    relay.reset(now(selector=Selector.LOCAL), remote=False)
    assert relay.alarms == {"alarm_fluid"}
