"""
The pressure monitor's transmitter against a reference gauge: errors at points up and down, in fractions of its range.

And at the end, before the block is concluded (safety rule R24): is the monitor equal to an independent gauge, within
both tolerances?
"""

from collections.abc import Iterator, Sequence

import msgspec

from commission.analysis.budget import Budget, normal
from commission.analysis.calibration import PointError, characteristics, differences
from commission.analysis.cycle_doubt import CycleDoubt, rivals
from commission.analysis.decision import Limits
from commission.analysis.gauge import Gauge
from commission.figure import Figure
from commission.sheet import Sheet

METHOD = "monitor.points/2"
EQUAL_METHOD = "monitor.equal/1"
LARGEST = "monitor_largest_error"
SO_FAR = "monitor_largest_error_so_far"
EQUAL = "monitor_less_gauge"
INDEPENDENT = "independent_gauge"
_PA_PER_BAR = 1e5


class NoPoint(Exception):  # the trade's word, not a fault of the program
    """Nothing was read."""


class MonitorReading(msgspec.Struct, frozen=True, kw_only=True):
    """
    One point.

    Args:
        point_pct: The point asked for, in percent of the range.

        up: Whether it was come to from below.

        gauge_bar: The reference.

        reading_pa: The monitor's own reading, mean of the settled time.

        noise_pa: Standard deviation of that mean.
    """

    point_pct: float
    up: bool
    gauge_bar: float
    reading_pa: float
    noise_pa: float = 0.0

    @property
    def error_pa(self) -> float:
        """Reading minus reference."""
        return self.reading_pa - self.gauge_bar * _PA_PER_BAR

    @property
    def words(self) -> str:
        """Which point, as `25 % up`."""
        return f"{self.point_pct:g} % {'up' if self.up else 'down'}"


class MonitorSeen(msgspec.Struct, frozen=True, kw_only=True):
    """
    What was read of the transmitter.

    Args:
        test: Names the run.

        gauge: The reference.

        readings: In order.

        wanted: How many points were to be read.

        why: Why there are no more.

        put_back: For the last comparison: who saw the root valve sealed, in words.
    """

    test: str
    gauge: Gauge
    readings: tuple[MonitorReading, ...]
    wanted: int
    why: str = ""
    put_back: str = ""
    commanded_by: str = "people at the unit"

    @property
    def timed_by(self) -> str:
        """What it was read with."""
        return f"gauge {self.gauge.id} ({self.gauge.accuracy.text})"


def monitor_limits(sheet: Sheet) -> Limits:
    """Limits of an error, as fractions of the range."""
    share = 0.0 if sheet.monitor is None else sheet.monitor.accuracy_pct / 100
    return Limits(f"{-share:.6g}", f"{share:.6g}")


def monitor_figures(seen: MonitorSeen, sheet: Sheet) -> tuple[Figure, ...]:
    """
    The largest error first, then what the cycle comes to, then each point.

    Raises:
        NoPoint: nothing was read, or the sheet has no monitor.
    """
    if not seen.readings or sheet.monitor is None:
        raise NoPoint(seen.why or "no point was read")
    range_pa = sheet.monitor.range_bar * _PA_PER_BAR
    errors = [_error(known, range_pa) for known in seen.readings]
    budgets = [_budget(known, seen.gauge, range_pa) for known in seen.readings]
    place = max(range(len(errors)), key=lambda i: abs(errors[i].error) / 100 + budgets[i].expanded())
    name = LARGEST if len(seen.readings) == seen.wanted else SO_FAR
    note = f"at {seen.readings[place].words}"
    near = rivals([abs(error.error) / 100 for error in errors], budgets[place].expanded())
    return (
        budgets[place].figure(name, errors[place].error / 100, "1", METHOD, note=note, largest_of=near),
        *_of_cycle(errors, _doubt(seen.readings[place], seen.gauge, range_pa)),
        *_of_points(seen, errors, budgets),
    )


def _error(known: MonitorReading, range_pa: float) -> PointError:
    at = known.gauge_bar * _PA_PER_BAR / range_pa * 100
    return PointError(known.point_pct, known.up, 1, at, known.error_pa / range_pa * 100)


def _budget(known: MonitorReading, gauge: Gauge, range_pa: float) -> Budget:
    lines = (*gauge.lines(known.gauge_bar), normal("noise of the reading", known.noise_pa))
    return Budget(tuple(line.times(1 / range_pa) for line in lines))


def _doubt(known: MonitorReading, gauge: Gauge, range_pa: float) -> CycleDoubt:
    own = [line.times(1 / range_pa) for line in gauge.lines(known.gauge_bar)]
    digit = gauge.digit_line().times(1 / range_pa)
    noise = normal("noise of the reading", known.noise_pa / range_pa)
    return CycleDoubt(tuple(line for line in own if line.name != digit.name), (digit, noise))


def _of_cycle(errors: list[PointError], doubt: CycleDoubt) -> Iterator[Figure]:
    """Zero and span as the gauge lets them be known; up against down at one point only as far as it was read off."""
    known = characteristics(errors)
    at_low = sum(error.point == min(one.point for one in errors) for error in errors)
    yield doubt.at_point(at_low).figure("monitor_zero_error", known.zero_error / 100, "1", METHOD)
    yield doubt.two_points().figure("monitor_span_error", known.span_error / 100, "1", METHOD)
    if known.hysteresis is not None:
        again = doubt.same_point()
        near = rivals(differences(errors), again.expanded() * 100)
        yield again.figure("monitor_hysteresis", known.hysteresis / 100, "1", METHOD, largest_of=near)


def _of_points(seen: MonitorSeen, errors: list[PointError], budgets: list[Budget]) -> Iterator[Figure]:
    for known, error, budget in zip(seen.readings, errors, budgets, strict=True):
        side = "up" if known.up else "down"
        yield budget.figure(f"monitor_error_{side}_{known.point_pct:g}_pct", error.error / 100, "1", METHOD)


def equal_figures(seen: MonitorSeen, _sheet: Sheet) -> tuple[Figure, ...]:
    """
    Monitor less independent gauge, after the root valve was opened.

    Raises:
        NoPoint: nothing was read.
    """
    if not seen.readings:
        raise NoPoint(seen.why or "monitor and gauge were not compared")
    known = seen.readings[-1]
    noise = Budget((normal("noise of the reading", known.noise_pa),))
    gauge = Budget(seen.gauge.lines(known.gauge_bar))
    return (
        noise.figure(EQUAL, known.error_pa, "Pa", EQUAL_METHOD, note=seen.put_back),
        gauge.figure(INDEPENDENT, known.gauge_bar * _PA_PER_BAR, "Pa", EQUAL_METHOD),
    )


def equal_room_pa(sheet: Sheet, gauge: Gauge, gauge_bar: float) -> float:
    """Both tolerances together: the gauge's data sheet, and the monitor's share of its range."""
    own = 0.0 if sheet.monitor is None else sheet.monitor.accuracy_pct / 100 * sheet.monitor.range_bar * _PA_PER_BAR
    return own + gauge.tolerance_pa(gauge_bar)


def equal_limits(figures: Sequence[Figure], sheet: Sheet, gauge: Gauge) -> Limits:
    """Both tolerances together, in Pa, at the pressure that the gauge showed."""
    gauge_bar = next(figure.unrounded for figure in figures if figure.name == INDEPENDENT) / _PA_PER_BAR
    room = equal_room_pa(sheet, gauge, gauge_bar)
    return Limits(f"{-room:.0f}", f"{room:.0f}")
