"""
What a test is told before it begins: for most their own arguments, for a partial stroke what the line and the record
say besides.

All of it becomes text in the order, and so stands in the record before the first command.
"""

from collections.abc import Awaitable, Callable, Iterable
from datetime import timedelta

from commission.checklist import ProcedureUse, Step
from commission.checklist.model import BRING_BACK
from commission.clock import Clock
from commission.job.state import Job
from commission.link.plan import Bridge, cycle_time_s, plan_for
from commission.link.unit import UnitLink
from commission.procedures.catalogue import CATALOGUE
from commission.procedures.fail_safe_plan import FAIL_SAFE
from commission.procedures.partial_told import as_arguments
from commission.procedures.protection import TEST, TEST_TIMED
from commission.procedures.requests import Begin
from commission.procedures.span_plan import SPAN
from commission.procedures.wiring_control_room import CLOCK, OFFSET, POINT_TO_POINT
from commission.sheet import ROLES, RoleKind, Sheet
from commission.sheet.decode import Readings
from commission.supervise.order import MotionOrder
from commission.walk.movement import arguments_of, next_test
from commission.walk.partial import PARTIAL, Line, is_first_safety_movement, rest_h, told
from commission.walk.way_back import end_back

FULL = "full_stroke"
REST = "rest_h"
"""Hours at rest before a stroke, beside its own arguments: runs carry them (safety rule R21)."""

Read = Callable[[Iterable[str]], Awaitable[Readings]]


async def order_for(
    job: Job, step: Step, use: ProcedureUse, by: str, link: UnitLink, read: Read, clock: Clock
) -> MotionOrder:
    """
    The order for the next run of a procedure in a step.

    Args:
        job: Where the visit stands.

        step: The step.

        use: Its use of the procedure.

        by: Who said go.

        link: The line, for its times.

        read: Reads points once.

        clock: UTC and the speed of unit time.

    Raises:
        VisitError: the unit does not answer.

        ValueError: the checklist's arguments are not what the procedure takes.
    """
    name = next_test(job, step, use).name
    arguments = {**arguments_of(job, step, use), **clocks_of(job, use, clock), "test": name}
    if use.name == FULL and (rested := rest_h(job, clock.utc())) is not None:
        arguments |= {REST: f"{rested:g}"}
    if use.name == BRING_BACK:
        arguments |= end_back(job, use)
    if use.name == PARTIAL:
        line = await line_of(job.sheet, arguments, link, read, clock)
        arguments = as_arguments(told(job, use, name, line, clock.utc())) | arguments
    return MotionOrder(
        run=name.replace(" ", "-"),
        step=step.id,
        procedure=use.name,
        arguments=arguments,
        as_found=is_first_safety_movement(job, use),
        by=by,
    )


def clocks_of(job: Job, use: ProcedureUse, clock: Clock) -> dict[str, str]:
    """How unit time maps to the control room's clock, for the runs that compare both."""
    if use.name not in (POINT_TO_POINT, SPAN, FAIL_SAFE, TEST, TEST_TIMED):
        return {}
    at_0 = clock.utc() - timedelta(microseconds=clock.unit_ns() / 1000)
    compared = job.register.clocks
    offset = {OFFSET: f"{compared[-1].compared.offset_s:g}"} if compared else {}
    return {CLOCK: at_0.isoformat(), **offset}


async def line_of(sheet: Sheet, arguments: dict[str, str], link: UnitLink, read: Read, clock: Clock) -> Line:
    """
    The line's times for a partial stroke, and the unit's settings, oil temperature and supply, read now.

    Raises:
        VisitError: the unit does not answer.

        ValueError: the unit has no partial stroke.
    """
    procedure = CATALOGUE[PARTIAL].start(sheet, arguments)
    begin = next(procedure)
    procedure.close()
    roles = begin.roles if isinstance(begin, Begin) else ()
    plan = plan_for(sheet, roles, link.facts.unit_id, bridge=Bridge.NAMED)
    exchange_s = link.facts.round_trip.p50_s
    settings = [point.role for point in sheet.points if ROLES[point.role].kind is RoleKind.SETTING]
    around = [role for role in ("oil_temperature", "supply_voltage") if sheet.has(role)]
    readings = await read([*settings, *around]) if settings or around else None
    values = {role: readings.value(role) for role in settings} if readings is not None else {}
    return Line(
        cycle_s=max(cycle_time_s(plan, sheet.link), exchange_s * len(plan.blocks)),
        latency_s=link.sample_timeout_s + link.make_safe_within_s(plan),
        speed=clock.speed,
        settings={role: f"{value:.6g}" for role, value in values.items() if value is not None},
        oil_c=None if readings is None else readings.value("oil_temperature"),
        supply_v=None if readings is None else readings.value("supply_voltage"),
    )
