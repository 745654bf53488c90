"""
What a stroke was made in: how warm the oil was, what the supply gave before and while the motor ran.

Two strokes are comparable where these are; the worst day is carried from them. They cost no extra request: the points
lie between those that a stroke is watched by.
"""

import math

from commission.analysis.budget import Budget, readings
from commission.analysis.observed import StrokeObserved
from commission.analysis.supply_trace import dip_figures
from commission.analysis.transmitter import OWN_ERROR, instrument_lines
from commission.figure import Figure
from commission.sheet import Sheet
from commission.sheet.decode import Reading

METHOD = "surroundings.stroke/1"

SURROUNDINGS = ("supply_voltage", "oil_temperature")
"""The roles that a stroke is watched by for them, as far as the unit has them."""

_LEAST = 3


def surroundings_figures(observed: StrokeObserved, sheet: Sheet) -> tuple[Figure, ...]:
    """
    Oil temperature, and where the motor was seen to start, the volts before, at and after it; each only where read.

    Returns:
        `oil_temperature` in °C, `supply_before_start`, `supply_lowest_at_start`, `supply_running` in V, `supply_dip` as
        a share of the first.
    """
    found = []
    oil = observed.track("oil_temperature")
    if len(oil) >= _LEAST:
        found.append(_oil(oil, sheet))
    try:
        found += dip_figures(
            observed.track("supply_voltage"),
            observed.track("motor_running"),
            instrument_lines(sheet, "supply_voltage"),
        )
    except ValueError:  # a spring stroke starts no motor, a unit may not show its supply
        return tuple(found)
    return tuple(found)


def _oil(oil: tuple[Reading, ...], sheet: Sheet) -> Figure:
    own = instrument_lines(sheet, "oil_temperature")
    lines = (readings("readings during the stroke", [reading.value for reading in oil]), *own)
    note = "" if any(line.name.startswith(OWN_ERROR) for line in own) else "the transmitter's own error is not in it"
    mean_c = math.fsum(reading.value for reading in oil) / len(oil)
    return Budget(lines).figure("oil_temperature", mean_c, "degC", METHOD, note=note)
