"""What a sheet can get wrong although every field is well formed: unknown roles, collisions, unsafe silences."""

from collections.abc import Iterator

from commission.content import Problem, nearest
from commission.sample import Table
from commission.sheet.model import Action, Sheet
from commission.sheet.points import Point
from commission.sheet.roles import ROLES, RoleKind


def contradictions(sheet: Sheet, file: str) -> list[Problem]:
    """Everything in the sheet that contradicts itself or leaves a safety fact open."""
    return [*_points(sheet, file), *_behaviour(sheet, file), *_sources(sheet, file)]


def _points(sheet: Sheet, file: str) -> Iterator[Problem]:
    taken: dict[tuple[Table, int, int | None], str] = {}
    seen: set[str] = set()
    for point in sheet.points:
        place = f"point {point.role!r}"
        if point.role not in ROLES:
            yield Problem(file, place, "role", repr(point.role), "a known role", nearest(point.role, ROLES))
            continue
        if point.role in seen:
            yield Problem(file, place, "role", "the role twice", "one point a role")
        seen.add(point.role)
        if sheet.wire_address(point) < 0:
            yield Problem(file, place, "address", "0", "1 or more: the list counts from 1")
        yield from _collisions(point, place, file, taken)
        if point.write is not None and point.table in (Table.DISCRETE, Table.INPUT):
            yield Problem(file, place, "table", point.table, "coil or holding: it is written")
    if sheet.link.alive not in seen:
        yield Problem(
            file,
            "link",
            "alive",
            repr(sheet.link.alive),
            "the role of a point that never stands still",
            nearest(sheet.link.alive, seen),
        )


def _collisions(
    point: Point, place: str, file: str, taken: dict[tuple[Table, int, int | None], str]
) -> Iterator[Problem]:
    if ROLES[point.role].kind is RoleKind.NUMBER and point.role == "alive":
        return  # a counter that another role reads too may serve
    for address in range(point.address, point.address + point.words):
        for key in ((point.table, address, point.bit), (point.table, address, None)):
            if key in taken and taken[key] != point.role:
                yield Problem(
                    file,
                    place,
                    "address",
                    f"{point.table} {address}, which is also {taken[key]!r}",
                    "an address of its own",
                )
                return
        taken[point.table, address, point.bit] = point.role


def _behaviour(sheet: Sheet, file: str) -> Iterator[Problem]:
    actuator = sheet.actuator
    spring_return = actuator.action is Action.SPRING_RETURN
    if spring_return and actuator.fail_position is None:
        yield Problem(file, "actuator", "fail_position", "nothing", "open or closed: a spring drives it there")
    if spring_return and sheet.spring is None:
        yield Problem(file, "spring", "", "nothing", "the spring's force at both ends")
    if not spring_return and not actuator.at_zero_pressure:
        yield Problem(file, "actuator", "at_zero_pressure", "nothing", "where line force or weight takes the stem")
    if sheet.valve.normally_closed_vent and sheet.partial_stroke is not None:
        yield Problem(
            file,
            "partial_stroke",
            "",
            "a partial stroke",
            "none: a normally closed vent would release product",
        )


def _sources(sheet: Sheet, file: str) -> Iterator[Problem]:
    kinds = {source.kind for source in sheet.sources}
    for kind in ("motor", "control"):
        if kind not in kinds:
            yield Problem(file, "sources", kind, "no such source", f"the isolating device of the {kind} supply")
    for field, items in (("sources", sheet.sources), ("volumes", sheet.volumes)):
        ids = [item.id for item in items]
        for name in sorted({name for name in ids if ids.count(name) > 1}):
            yield Problem(file, f"{field} {name!r}", "id", "the same id twice", "one id each")
    for volume in sheet.volumes:
        if volume.kind == "oil" and not volume.bleed:
            yield Problem(file, f"volume {volume.id!r}", "bleed", "nothing", "how the oil is let out")
