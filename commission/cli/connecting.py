"""Connecting and leaving as steps of their own, in words (safety rule R16)."""

from collections.abc import Awaitable, Callable

from commission.cli import output, saying
from commission.face.connecting import AGREED, OTHER_MASTER, connected_words, leaving_words, listening_words
from commission.link.url import Address, parse_url
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
    other = await _said(OTHER_MASTER, line)
    agreed = await _said(AGREED, line)
    address = parse_url(url)
    say_listening(address)
    link = await visit.connect(url, other_master=other, agreed_by=agreed, by=by)
    saying.say(connected_words(link, address))


def say_listening(address: Address) -> None:
    """Say why nothing happens for a while, where a serial line is listened to."""
    if words := listening_words(address):
        output.say(words)


def say_what_the_unit_will_do(visit: Visit) -> None:
    """Before the line is closed: what the unit does without it, by its sheet; nothing where there is no line."""
    if visit.link is not None:
        saying.say(leaving_words(visit.job.sheet))


async def _said(question: str, line: Callable[[], Awaitable[str]]) -> str:
    while True:
        output.say(question)
        if text := await line():
            return text
