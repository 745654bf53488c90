"""Connecting and leaving as steps of their own, in words (safety rule R16)."""

from collections.abc import Awaitable, Callable

from commission.cli import output, saying
from commission.link.url import Address, SerialAddress, parse_url
from commission.visit import Visit


async def connect(visit: Visit, url: str, by: str, line: Callable[[], Awaitable[str]]) -> None:
    """
    Ask who else is on the line and who agrees, listen where it is a serial one, then connect.

    Args:
        visit: The open visit.

        url: Address of the unit.

        by: Who is at the keyboard.

        line: The next typed line; an empty one asks again.

    Raises:
        LinkError: somebody else was heard, the unit was not reached, or it is not the right one.

        Left: the terminal is gone.
    """
    other = await _said("Before connecting: is another master on this line, and who loses data? (as: none)", line)
    agreed = await _said("Who in the control room agrees? (a name)", line)
    say_listening(parse_url(url))
    link = await visit.connect(url, other_master=other, agreed_by=agreed, by=by)
    facts = link.facts
    practice = "" if facts.practice is None else f" PRACTICE unit at speed {facts.practice.speed:g}."
    saying.say(
        f"Connected: identity {facts.identity}, answers in {facts.round_trip.p50_s * 1000:.1f} ms "
        f"(99 % within {facts.round_trip.p99_s * 1000:.1f} ms).{practice}"
    )


def say_listening(address: Address) -> None:
    """Say why nothing happens for a while, where a serial line is listened to."""
    if isinstance(address, SerialAddress):
        output.say(f"Listening to {address.device} for 5 s before anything is sent.")


def say_what_the_unit_will_do(visit: Visit) -> None:
    """Before the line is closed: what the unit does without it, by its sheet; nothing where there is no line."""
    if visit.link is None:
        return
    behaviour = visit.job.sheet.behaviour
    saying.say(f"On leaving, the unit will: {behaviour.lost_contact}")
    if behaviour.lost_contact_moves:
        saying.say("THIS MOVES THE VALVE. Keep out as in a live test, until it is seen at rest.")


async def _said(question: str, line: Callable[[], Awaitable[str]]) -> str:
    while True:
        output.say(question)
        if text := await line():
            return text
