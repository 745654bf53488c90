"""
The worst day: today's measured friction, way out and pump flow, carried to the sheet's coldest, lowest and heaviest.

A stroke that passes on a mild day on an empty line says little of January under full pressure difference. Three numbers
are fitted from today's stroke (friction from the pressures, then the area of the way out or the pump's flow from the
time) and everything else is as the sheet has it. It is an extrapolation, for information, and no verdict.
"""

import math

import msgspec

from commission.engineering.expectation import plain
from commission.engineering.moving import Conditions, Mover, Stroke
from commission.engineering.proposals import legitimate_oil_c, lowest_speed
from commission.engineering.topics.strokes import WORDS, limits_of
from commission.engineering.unit import REFERENCE_C, Unit
from commission.sheet.model import End


class Measured(msgspec.Struct, frozen=True, kw_only=True):
    """
    Today's stroke.

    Args:
        towards: The end it went to.

        time_s: From first to last motion.

        pressures_pa: Gauge pressure while moving, by travel (0 closed, 1 open); empty where none was read.

        oil_c: Oil temperature.

        speed_share: Of the pump's rated speed, as today's supply gave it.
    """

    towards: End
    time_s: float
    pressures_pa: tuple[tuple[float, float], ...] = ()
    oil_c: float = REFERENCE_C
    speed_share: float = 1.0


class WorstDay(msgspec.Struct, frozen=True, kw_only=True):
    """
    A stroke on the worst day.

    Args:
        towards: The end it goes to.

        stroke: As computed; it may not finish.

        friction: Today's load over the sheet's empty-line load; None where no pressure was read.

        because: Oil temperature and supply that make it the worst.

        limit_s: The sheet's limit at design load; None where it gives none.
    """

    towards: End
    stroke: Stroke
    friction: float | None
    because: str
    limit_s: float | None

    @property
    def within(self) -> bool | None:
        """Whether it keeps the limit; None without one. A stroke that does not finish keeps none."""
        if not self.stroke.finishes:
            return False
        return None if self.limit_s is None else self.stroke.time_s <= self.limit_s

    @property
    def words(self) -> str:
        """One clause: `closing about 11.9 s (limit 12 s) at −40 °C oil`."""
        name = WORDS[self.towards]
        if not self.stroke.finishes:
            return f"{name} would STALL at {self.because}"
        limit = "" if self.limit_s is None else f" (limit {self.limit_s:g} s{'' if self.within else ', EXCEEDED'})"
        return f"{name} about {plain(self.stroke.time_s, 3)} s{limit} at {self.because}"


def friction_share(unit: Unit, measured: Measured) -> float | None:
    """
    Valve load of a measured stroke as a share of the sheet's design load; None without pressures or without loads.

    From the balance of forces at each place, weighted by the load there: Σ(spring − p·A)/Σ load, or the other way round
    where oil drives.
    """
    drive, towards = unit.drive, measured.towards
    if not measured.pressures_pa or not drive.loads:
        return None
    powered = towards in drive.powered_ends
    area = drive.area_m2(towards) if powered else drive.cylinder.piston_m2
    left = []
    for travel, pressure_pa in measured.pressures_pa:
        net = pressure_pa * area - drive.spring_force_n(travel)
        left.append(net if powered else -net)
    loads = math.fsum(drive.load_force_n(travel, towards) for travel, _ in measured.pressures_pa)
    return math.fsum(left) / loads if loads > 0 else None


def worst_day(unit: Unit, measured: Measured) -> WorstDay | None:
    """
    A measured stroke carried to the worst legitimate day; None where the sheet does not give enough.

    Today's line is taken as empty: a load that was there already is then counted twice, which errs on the heavy side.
    """
    share = friction_share(unit, measured)
    today = Conditions(
        load_share=unit.empty_share if share is None else max(0.0, share),
        oil_c=measured.oil_c,
        speed_share=measured.speed_share,
    )
    predicted = Mover(unit).stroke(measured.towards, today)
    if predicted is None or not predicted.finishes or measured.time_s <= 0:
        return None
    fitted = predicted.time_s / measured.time_s
    friction = None if share is None else max(0.0, share) / unit.empty_share
    return _worst(unit, measured.towards, fitted, friction)


def _worst(unit: Unit, towards: End, fitted: float, friction: float | None) -> WorstDay:
    mover, speed = Mover(unit), lowest_speed(unit)
    heavier = max(1.0, 1.0 if friction is None else friction)
    found: list[tuple[float, float, Stroke]] = []
    for oil_c in legitimate_oil_c(unit):
        conditions = Conditions(
            load_share=heavier, oil_c=oil_c, speed_share=speed, area_factor=fitted, flow_factor=fitted
        )
        stroke = mover.stroke(towards, conditions)
        if stroke is not None:
            found.append((stroke.time_s, oil_c, stroke))
    _, oil_c, stroke = max(found, key=lambda one: one[0])
    low = f", {unit.sheet.supply.lowest_v:g} V" if speed < 1.0 and stroke.by == "pump" else ""
    return WorstDay(
        towards=towards,
        stroke=stroke,
        friction=friction,
        because=f"{oil_c:g} °C oil{low}",
        limit_s=limits_of(unit, towards).longest_at_design_s,
    )


def sentence(days: tuple[WorstDay, ...], taken: str = "") -> str:
    """
    One sentence for page one; empty where there is nothing to carry.

    Args:
        days: One for each direction.

        taken: What had to be assumed of today, in words.
    """
    if not days:
        return ""
    frictions = [day.friction for day in days if day.friction is not None]
    told = f"friction {plain(max(frictions), 3)} times the sheet's, " if frictions else "friction as the sheet's, "
    assumed = f"; {taken}" if taken else ""
    clauses = "; ".join(day.words for day in days)
    return (
        f"Worst day, computed from today's strokes ({told}times and flow as measured{assumed}), design load: {clauses}."
        " An extrapolation, not a test."
    )
