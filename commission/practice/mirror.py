"""
A spring-return unit that oil closes and the spring opens, seen so that the same control logic serves it.

The logic is told as if oil opened: what it is shown and what it is ordered is turned round at its border.
"""

from msgspec.structs import replace

from commission.practice.orders import Inputs, Order

_TURNED = {Order.OPEN: Order.CLOSE, Order.CLOSE: Order.OPEN}
_WORDS = {"open": "closed", "closed": "open"}


def turned_inputs(seen: Inputs) -> Inputs:
    """What the control unit sees, with the two ends of travel exchanged."""
    return replace(seen, travel_pct=100.0 - seen.travel_pct, open_limit=seen.closed_limit, closed_limit=seen.open_limit)


def turned_order(order: Order) -> Order:
    """An order, with the two directions exchanged."""
    return _TURNED.get(order, order)


def turned_word(wanted: str) -> str:
    """What the unit is about, with the two ends exchanged."""
    return _WORDS.get(wanted, wanted)
