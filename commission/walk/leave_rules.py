"""
Leave to write, given for one test (safety rule R9): never called a permit, that is paper.

Whatever cannot be shown to be allowed is refused. Leave names points and values, outlives the longest legal run of the
test, and keeps the way back open until the test has ended.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Protocol

from commission.checklist.model import LOOKS, PULSE
from commission.clock import NS_PER_S, Clock
from commission.energy import EnergyState
from commission.job.state import Job
from commission.leave import Leave
from commission.procedures.requests import SET_POINT, Begin, CommandValue, SafeEnd
from commission.walk import gate, partial, permit
from commission.walk.confirm import is_confirmed
from commission.walk.movement import MotionTest
from commission.walk.readiness import not_proved
from commission.walk.refusal import Refusal

LINK_SET_POINT = "set-point"
"""Its kind on the temporary list."""

OUTLIVES_S = 10.0
"""Leave ends this long after the longest legal run."""


class Order(Protocol):
    """What is about to be run: which step, by which procedure, named how, at whose word."""

    @property
    def step(self) -> str:
        """Id of the step."""

    @property
    def procedure(self) -> str:
        """Name of the procedure."""

    @property
    def arguments(self) -> Mapping[str, str]:
        """Its arguments; `test` is the name that was confirmed."""

    @property
    def by(self) -> str:
        """Who said go."""


class LeaveRefused(Exception):  # names what happened
    """No leave: nothing may be sent. The message says why, `refusal` what would settle it."""

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(str(refusal))
        self.refusal = refusal


def leave_for(job: Job, begin: Begin, order: Order, clock: Clock) -> Leave:
    """
    Leave for what a procedure is about to do.

    Args:
        job: Where the visit stands.

        begin: What the procedure named: commands, safe end, longest run.

        order: For which step, named how, at whose word.

        clock: Unit time and UTC.

    Raises:
        LeaveRefused: with why, and what would settle it.
    """
    refused = refusal(job, begin, order, clock.utc())
    if refused is not None:
        raise LeaveRefused(refused)
    safe = () if begin.safe_command is None else (begin.safe_command,)
    back = () if begin.hand_back is None else (begin.hand_back.command,)
    returns = safe if begin.safe_end is SafeEnd.RETURN else ()
    return Leave(
        test=order.arguments.get("test", begin.test),
        values=_values((*begin.commands, *safe, *back)),
        until_ns=clock.unit_ns() + round((begin.longest_s + OUTLIVES_S) * NS_PER_S),
        generation=job.energy_log.now.generation,
        by=order.by,
        returns=tuple(command.role for command in (*returns, *back)),
        ranges={} if begin.set_points is None else {SET_POINT: (begin.set_points.low, begin.set_points.high)},
    )


def refusal(job: Job, begin: Begin, order: Order, now: datetime) -> Refusal | None:
    """Why no leave is given for this now, or None."""
    return (
        _state(job, order)
        or _only_looks(begin, order)
        or gate.refusal(job, job.checklist.step(order.step), now)
        or permit.refusal(job, now, begin.longest_s)
        or _one_at_a_time(job)
        or _proved(job, begin, order)
        or _partial(job, order)
        or _listed(job, begin)
        or _confirmed(job, begin, order, now)
    )


def _state(job: Job, order: Order) -> Refusal | None:
    energy = job.energy_log.now
    in_control = order.procedure == PULSE or order.procedure in LOOKS
    wanted = EnergyState.CONTROL if in_control else EnergyState.LIVE
    if energy.state is wanted and energy.target is None:
        return None
    where = energy.state if energy.target is None else f"on the way to {energy.target}"
    return Refusal(f"{order.procedure} is commanded only in {wanted}; the unit is {where}")


def _one_at_a_time(job: Job) -> Refusal | None:
    leave = job.contact.leave
    return None if leave is None else Refusal(f"{leave.test} still holds leave", "One motion at a time")


def _only_looks(begin: Begin, order: Order) -> Refusal | None:
    """What is begun without a movement's checks must not be able to make one."""
    if order.procedure in LOOKS and (begin.commands or begin.safe_command is not None):
        return Refusal(f"{order.procedure} only looks, and names a command", "Correct the program")
    return None


def _proved(job: Job, begin: Begin, order: Order) -> Refusal | None:
    if order.procedure == PULSE:
        return None
    commands = (*begin.commands, *(() if begin.safe_command is None else (begin.safe_command,)))
    set_points = () if begin.set_points is None else (SET_POINT,)
    missing = not_proved(job, (*(command.role for command in commands), *set_points))
    if not missing:
        return None
    return Refusal(
        f"{', '.join(missing)} was not pulsed in control with its effect seen", "Prove the commands in control first"
    )


def _partial(job: Job, order: Order) -> Refusal | None:
    return partial.refusal(job, order.arguments) if order.procedure == partial.PARTIAL else None


def _listed(job: Job, begin: Begin) -> Refusal | None:
    """Safety rule R14: a set point from the link stands on the temporary list before the first is given."""
    if begin.set_points is None or any(i.is_on and i.added.kind == LINK_SET_POINT for i in job.temporary.values()):
        return None
    return Refusal("A set point from the link is to stand on the temporary list before the first is given", "Put it on")


def _confirmed(job: Job, begin: Begin, order: Order, now: datetime) -> Refusal | None:
    name = order.arguments.get("test", begin.test)
    test = MotionTest(name, order.step, order.arguments.get("direction", ""), 0, begin.longest_s)
    if is_confirmed(job, test, now):
        return None
    return Refusal(f"{name} was not confirmed for this movement", "Count, read the plate, wait for go")


def _values(commands: tuple[CommandValue, ...]) -> dict[str, tuple[int, ...]]:
    values: dict[str, tuple[int, ...]] = {}
    for command in commands:
        values[command.role] = tuple(dict.fromkeys((*values.get(command.role, ()), command.value)))
    return values
