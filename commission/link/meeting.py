"""
The first exchanges with a unit: is it there, does the line echo, is it the unit of the sheet, is it a practice unit,
and how long does it take to answer.
"""

import random

import msgspec

from commission.clock import Clock
from commission.link.faults import NoAnswer, PlanError, UnitRefused, WrongUnit, explain
from commission.link.health import Health, Latency, latency_of
from commission.link.line import Line
from commission.link.practice_check import PracticeIdentity, practice_identity
from commission.link.url import Address
from commission.sample import Block
from commission.sheet import Sheet
from commission.sheet.decode import block_of, reading_of

_ROUND_TRIPS = 20
_SHORTEST_TEST_TIMEOUT_S = 0.04
_LONGEST_TEST_TIMEOUT_S = 0.25


class LinkFacts(msgspec.Struct, frozen=True):
    """
    What was found at connect.

    Args:
        protocol: `rtu` or `tcp`.

        address: The address, as text.

        unit_id: The unit identifier asked.

        identity: The identity code that the unit gave; None where the sheet has no point for it.

        practice: Set where it proved to be a practice unit.

        echo: Our own frames come back: a two-wire adapter (safety rule R12). They are taken off.

        round_trip: Of short reads, in wire time.

        test_timeout_s: 3 × the 99th percentile round trip, 0.04 to 0.25 s: longest wait in a test, in wire time.

        make_safe_s: Longest time until a make-safe write has reached the unit, in wire time, whatever is in flight.
    """

    protocol: str
    address: str
    unit_id: int
    identity: int | None
    practice: PracticeIdentity | None
    echo: bool
    round_trip: Latency
    test_timeout_s: float
    make_safe_s: float


async def meet(line: Line, sheet: Sheet, address: str, draw: random.Random | None = None) -> LinkFacts:
    """
    Make the unit's acquaintance over an open line; sets the line's test time-out.

    Raises:
        WrongUnit: another unit answers than the sheet's.

        NoAnswer: nothing answers; the message says so if the line echoes.

        WireFault: any other of its kinds.

        PlanError: the sheet has neither an identity nor an alive point to ask for.
    """
    block = _first_block(sheet)
    one_word = msgspec.structs.replace(block, count=1)  # the only read whose echo cannot look like an answer
    try:
        await line.read(one_word)
    except NoAnswer as fault:
        if line.echo:
            raise NoAnswer("only our own bytes come back: the adapter echoes, and no unit answers behind it") from fault
        raise
    except UnitRefused as fault:
        raise WrongUnit(explain(sheet, fault)) from fault
    identity = await check_identity(line, sheet)
    practice = await practice_identity(line, draw)
    line.clock.run_at(1.0 if practice is None else practice.speed)
    latency = await _round_trips(line, one_word)
    settings = line.settings
    line.test_timeout_s = min(max(3 * latency.p99_s, _SHORTEST_TEST_TIMEOUT_S), _LONGEST_TEST_TIMEOUT_S)
    return LinkFacts(
        protocol=settings.protocol,
        address=address,
        unit_id=settings.unit_id,
        identity=identity,
        practice=practice,
        echo=line.echo,
        round_trip=latency,
        test_timeout_s=line.test_timeout_s,
        make_safe_s=line.make_safe_s(),
    )


async def prove_practice(
    address: Address, sheet: Sheet, clock: Clock, draw: random.Random | None = None
) -> PracticeIdentity | None:
    """
    Ask one thing only, and close the line again: does this prove to be a practice unit? Nothing is read (rule R15).

    Args:
        address: Where the unit is reached.

        sheet: For the settings of the line.

        clock: The session's clock; its speed stays as it is.

        draw: Where the challenge comes from; the system's randomness if None.

    Raises:
        NotConnected: there is no port or no socket.
    """
    line = Line(address, sheet.link, clock, Health(clock.unit_ns()))
    await line.connect()
    try:
        return await practice_identity(line, draw)
    finally:
        await line.close()


async def check_identity(line: Line, sheet: Sheet) -> int | None:
    """
    The identity code that the unit gives, which is the sheet's; None where the sheet has no point for it.

    Raises:
        WrongUnit: another code came, or the unit has no such register.
    """
    point = sheet.point("identity")
    if point is None:
        return None
    try:
        read = await line.read(block_of(sheet, point))
    except UnitRefused as fault:
        raise WrongUnit(explain(sheet, fault)) from fault
    found = int(reading_of(sheet, point, read.words))
    if found != sheet.identity.code:
        raise WrongUnit(
            f"the unit that answers has identity code {found}; the sheet of {sheet.identity.tag} says "
            f"{sheet.identity.code}: is this the right unit, and the right sheet?"
        )
    return found


def _first_block(sheet: Sheet) -> Block:
    point = sheet.point("identity") or sheet.point(sheet.link.alive)
    if point is None or point.read_clears:
        raise PlanError("the sheet has neither an identity nor an alive point to ask for")
    return block_of(sheet, point)


async def _round_trips(line: Line, block: Block) -> Latency:
    took_s = []
    for _ in range(_ROUND_TRIPS):
        began_ns = line.clock.wire_ns()
        await line.read(block)
        took_s.append((line.clock.wire_ns() - began_ns) / 1e9)
    latency = latency_of(took_s)
    if latency is None:
        raise PlanError("no round trip was measured")
    return latency
