"""
I3: hold values against meter, gauge and thermometer, and find out where the map is wrong.

Each reference is asked for before the register is shown, so that nobody reads what they expect. The register is taken
over two settled seconds around the answer. What the map has wrong is looked for when all values are in, for one cause
explains them together.
"""

from collections import deque
from collections.abc import Generator, Mapping

from commission.analysis.wiring import WiringSeen, name_of_role
from commission.analysis.wiring_map import Reference
from commission.analysis.wiring_values import Compared, judge_values, measured_roles, shown
from commission.procedures.requests import Answer, Ask, Note, Procedure, Reply, Request, Watch
from commission.procedures.wiring_contacts import looking
from commission.quantity import conversion
from commission.sheet import Point, Sheet
from commission.sheet.decode import Readings
from commission.sheet.roles import ROLES

SETTLED_S = 2.0
"""Over how long a value is taken; it must not move by more than is permitted in that time."""

MOST_TRIES = 3
"""A value that is never still is compared as it is: it may be the map that makes it jump."""

READ_FROM: Mapping[str, str] = {
    "supply_voltage": "Meter on the control supply's terminals",
    "pipeline_pressure": "Independent gauge on the sensing line",
    "oil_temperature": "Thermometer in the oil",
    "cylinder_pressure": "Gauge of the cylinder",
    "travel": "Travel by the stem's own mark",
    "feedback_current": "Clamp meter on the feedback loop",
    "command_current": "Clamp meter on the command loop",
    "fluid_level": "Sight glass of the tank",
    "motor_current": "Clamp meter on the motor's core",
}
"""What each point is compared with."""


def compare_values(sheet: Sheet, test: str, points: Mapping[str, float]) -> Procedure[WiringSeen]:
    """
    Each of these points held against a reference that somebody reads.

    Args:
        sheet: The unit's sheet.

        test: Names the run.

        points: By role, the expanded uncertainty of what it is compared with, in the unit of the point's own list.

    Returns:
        What came of each, and of the map as a whole.

    Raises:
        ValueError: the sheet has none of these points.
    """
    wanted = [role for role in points if sheet.has(role)]
    if not wanted:
        raise ValueError(f"the sheet has no point for {', '.join(points) or 'any comparison'}")
    others = [role for role in measured_roles(sheet) if role not in wanted]
    yield looking(sheet, test, (*wanted, *others))
    compared = []
    for role in wanted:
        one = yield from _compared(sheet, role, points[role])
        agrees = one.value is not None and abs(one.value - one.reference.value) <= one.reference.permitted
        reads = "no number" if one.value is None else shown(sheet, role, one.value)
        reason = "" if agrees else ". The reason is looked for when all values are in"
        yield Note(
            f"{'SEEN' if agrees else 'NOT SO'}  {name_of_role(role)}: the register reads {reads}{reason}", loud=True
        )
        compared.append(one)
    seen = WiringSeen(points=judge_values(sheet, compared, others))
    for point in seen.points:
        if not point.is_right:
            yield Note(f"NOT SO  {point.forced}: {point.finding}. {point.words}", loud=True)
    return seen


def _compared(sheet: Sheet, role: str, uncertainty: float) -> Generator[Request, Reply, Compared]:
    """Ask for one reference until the register stands still while it is read."""
    point = sheet.point(role)
    assert point is not None  # noqa: S101  # only points of the sheet are wanted
    own = conversion(point.unit, ROLES[role].unit or "1")
    room = own.apply_difference(uncertainty)
    again, tried = "", 0
    while True:
        tried += 1
        ask = f"{again}{READ_FROM.get(role, name_of_role(role))}, good to {uncertainty:g} {point.unit}: it reads"
        yield Note(f"NEXT  {ask}", loud=True)
        answer, window = yield from _answered(Ask(role, ask, "number", point.unit))
        value = own.apply(answer.value) if answer.value is not None else 0.0
        reference = Reference(role=role, value=value, uncertainty=abs(room))
        one = _taken(point, reference, answer, window)
        if one is not None and (one.spread <= reference.permitted or tried >= MOST_TRIES):
            return one
        again = "The register was not still while you read. Again: "


_Window = deque[Readings]


def _answered(question: Ask) -> Generator[Request, Reply, tuple[Answer, _Window]]:
    """The answer, and the samples of two seconds up to one after it."""
    window: _Window = deque()
    answer: Answer | None = None
    while True:
        item = yield Watch(None if answer else question)
        if isinstance(item, Answer):
            answer = item
        elif isinstance(item, Readings):
            window.append(item)
            while item.at_ns - window[0].at_ns > SETTLED_S * 1e9:
                window.popleft()
            long_enough = item.at_ns - window[0].at_ns > SETTLED_S * 0.5e9
            if answer is not None and long_enough:
                return answer, window


def _taken(point: Point, reference: Reference, answer: Answer, window: _Window) -> Compared | None:
    """What the register was over the window; the sample whose value lies in the middle stands for it."""
    valued = sorted((item for item in window if item.get(point.role)), key=lambda item: item[point.role].value)
    middle = valued[len(valued) // 2] if valued else window[-1]
    if middle.registers is None:
        return None
    reading = middle.get(point.role)
    spread = valued[-1][point.role].value - valued[0][point.role].value if valued else 0.0
    return Compared(
        reference=reference,
        typed=answer.text,
        by=answer.by,
        value=None if reading is None else reading.value,
        spread=spread,
        registers=middle.registers,
        at_ns=middle.at_ns if reading is None else reading.at_ns,
        half_width_ns=0 if reading is None else reading.half_width_ns,
    )
