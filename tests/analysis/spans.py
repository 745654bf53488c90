"""Loops for the span tests: readings made from a rule, and the planted feedback of FCV-2204."""

from collections.abc import Callable

import msgspec

from commission.analysis.span import Meter, Signal, SpanEnd, SpanObserved, SpanReading, meter_of
from commission.sheet import Sheet
from commission.sheet.model import Loop
from tests.sheet.xv import xv_1101

POINTS = (0.0, 25.0, 50.0, 75.0, 100.0)
FCV_2204_MA = (4.06, 8.02, 11.95, 15.86, 19.76)
"""An invented unit's planted finding: feedback at 0, 25, 50, 75, 100 % of travel."""


def clamp(accuracy: str = "0.02 mA", stem_step: float = 0.1 / 90) -> Meter:
    """A clamp meter beside a scale read to a tenth of a degree."""
    return meter_of("M-03", accuracy, 24.0, 0.01, stem_step)


def observed(
    current_ma: Callable[[float, bool, int], float],
    *,
    up_down: tuple[bool, ...] = (True,),
    cycles: int = 1,
    meter: Meter | None = None,
    register_off_ma: float = 0.0,
    points: tuple[float, ...] = POINTS,
) -> SpanObserved:
    """A feedback loop read at its points: the current by point, side and cycle, the stem exactly where asked."""
    readings = tuple(
        SpanReading(
            point_pct=point,
            up=up,
            cycle=cycle,
            stem=point / 100,
            current_a=(now := current_ma(point, up, cycle)) / 1e3,
            register_a=(now + register_off_ma) / 1e3,
            travel=point / 100,
        )
        for cycle in range(1, cycles + 1)
        for up in up_down
        for point in (points if up else tuple(reversed(points)))
    )
    return SpanObserved(
        test="M1 1",
        signal=Signal.FEEDBACK,
        meter=meter or clamp(),
        readings=readings,
        not_tested=(),
        ended=SpanEnd.DONE,
    )


def fcv_2204() -> SpanObserved:
    """The planted feedback, read once up."""
    by_point = dict(zip(POINTS, FCV_2204_MA, strict=True))
    return observed(lambda point, _up, _cycle: by_point[point])


def modulating(limit_pct: float = 0.5) -> Sheet:
    """A sheet whose feedback may be off by half a percent."""
    return msgspec.structs.replace(xv_1101(), feedback_loop=Loop(limit_pct=limit_pct))
