"""Connecting and leaving as steps of their own, in words that both faces say (safety rule R16)."""

from commission.link.ports import LISTEN_S
from commission.link.unit import UnitLink
from commission.link.url import Address, SerialAddress
from commission.sheet import Sheet

OTHER_MASTER = "Before connecting: is another master on this line, and who loses data? (as: none)"
AGREED = "Who in the control room agrees? (a name)"


def listening_words(address: Address) -> str:
    """Why nothing happens for a while, where a serial line is listened to; empty for a network."""
    if not isinstance(address, SerialAddress):
        return ""
    return f"Listening to {address.device} for {LISTEN_S:g} s before anything is sent."


def connected_words(link: UnitLink, address: Address) -> str:
    """
    What was learnt on connecting: who answers, how fast, how soon a stop arrives, whether the line echoes.

    Args:
        link: The line.

        address: What was connected to.
    """
    facts = link.facts
    listened = f"Nobody else was heard in {LISTEN_S:g} s. " if listening_words(address) else ""
    practice = "" if facts.practice is None else f" PRACTICE unit at speed {facts.practice.speed:g}."
    echo = " This line echoes: an answer alone proves nothing." if facts.echo else ""
    return (
        f"{listened}Connected: identity {facts.identity}, answers in {facts.round_trip.p50_s * 1000:.1f} ms "
        f"(99 % within {facts.round_trip.p99_s * 1000:.1f} ms); a stop reaches the unit in "
        f"{facts.make_safe_s:.2f} s.{echo}{practice}"
    )


def leaving_words(sheet: Sheet) -> str:
    """What the unit does without the line, by its sheet, with a warning where that moves the valve."""
    behaviour = sheet.behaviour
    words = f"On leaving, the unit will: {behaviour.lost_contact}"
    if behaviour.lost_contact_moves:
        words += ". THIS MOVES THE VALVE. Keep out as in a live test, until it is seen at rest"
    return f"{words}."
