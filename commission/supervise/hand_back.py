"""
After a hold: the source of the set point is handed back, and read back (safety rule R14).

It comes only after a stop that was seen received; a stop that lapsed sends nothing more (rule R10). What the valve does
then is what its own loop asks for, which was agreed before the first set point.
"""

from commission.clock import NS_PER_S
from commission.link.faults import LinkError
from commission.procedures.requests import HandBack
from commission.sample import Outcome, Written
from commission.sheet.decode import Readings
from commission.supervise.safe_end import SafeEndReport, SafeEndSeen
from commission.supervise.surroundings import Unit
from commission.supervise.trail import Trail
from commission.supervise.watching import Watching

SEEN_WITHIN_S = 3.0
"""The unit shows whose set point it follows within this of unit time (common practice, no source)."""

_WAIT_S = 0.25


async def hand_back(back: HandBack, unit: Unit, watching: Watching, trail: Trail, held: SafeEndReport) -> SafeEndReport:
    """
    Hand the source back once, and see it.

    Args:
        back: The command, and the bit that shows it.

        unit: Where it is sent.

        watching: Samples, to see it.

        trail: Where it is written.

        held: What became of the hold before it.

    Returns:
        Confirmed where the bit was seen; else unconfirmed, with what is to be looked at.
    """
    role, value = back.command.role, back.command.value
    try:
        written = await unit.command(role, value)
    except LinkError as error:
        written = Written(unit.clock.unit_ns(), 0, Outcome.REFUSED, str(error))
    trail.sent(role, value, written, "make safe")
    until_ns = unit.clock.unit_ns() + round(SEEN_WITHIN_S * NS_PER_S)
    while unit.clock.unit_ns() < until_ns:
        item = await watching.next(wait_s=_WAIT_S)
        if isinstance(item, Readings) and item.bit(back.seen_role) is back.seen_as:
            return SafeEndReport(held.seen, f"{held.reason}; the source is handed back, and read back so")
    why = f" ({written.reason})" if written.reason else ""
    return SafeEndReport(
        SafeEndSeen.UNCONFIRMED,
        f"{held.reason}; the source is NOT seen handed back{why}: at the unit, turn it back to its own loop",
    )
