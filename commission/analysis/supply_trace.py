"""
What the supply does while the unit works: dip at a start, volts at the terminals, unbalance, insulation, the battery.

Measured here; what the sheet says must come out is in `engineering`.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

from commission.analysis import edges
from commission.analysis.budget import Budget, Line, normal, readings, rectangular
from commission.engineering.supply import unbalance
from commission.figure import Figure
from commission.sheet.decode import Reading

METHOD = "supply_trace.readings/2"

START_S = 2.0
"""How long after a start the lowest voltage is looked for."""

LOWEST_OF_SEVERAL = 1.6
"""The lowest of some ten noisy readings of a dip lies one and a half scatters below it, give or take 0.6."""

SWITCHINGS = 4
"""So many of the largest changes of a current stand in its budget by themselves: on, off, and a peak between."""

REFERENCE_C = 40.0
HALVES_EVERY_K = 10.0


def unbalance_figure(volts: Sequence[float], meter: Sequence[Line] = ()) -> Figure:
    """
    Unbalance of three line voltages, as a fraction of their mean.

    Args:
        volts: Three readings of one meter.

        meter: Its lines at about these volts (`Accuracy.lines`); of its error only what differs from reading to reading
            counts, and that is taken as all of it.

    Raises:
        ValueError: not three voltages above zero.

    Source: NEMA MG 1, 14.36 (`engineering.supply.unbalance`).
    """
    share = unbalance(volts)
    mean = math.fsum(volts) / 3
    farthest = max(range(3), key=lambda place: abs(volts[place] - mean))
    lines = [
        line.times((2 / 3 if place == farthest else 1 / 3) / mean) for place in range(3) for line in meter
    ]  # fmt: skip
    return Budget(tuple(lines)).figure("voltage_unbalance", share, "1", METHOD)


def dip_figures(
    supply: tuple[Reading, ...], motor: tuple[Reading, ...], instrument: Sequence[Line] = ()
) -> tuple[Figure, ...]:
    """
    Volts before a start, lowest in its first two seconds, mean while running, and the dip as a share of the first.

    Between two readings the volts may have been lower still: the lowest is what was seen, and the dip "at least" that.

    Args:
        supply: Volts at the unit's terminals.

        motor: Whether the motor ran.

        instrument: Lines of what reads the volts.

    Raises:
        ValueError: the motor was not seen to start, or the volts were not read before and after.
    """
    started = edges.first_change(motor, bool, 0)
    if started is None:
        raise ValueError("the motor was not seen to start")
    begun_ns, stopped_ns = started.latest_ns, _stopped_ns(motor, started.latest_ns)
    settled_ns = begun_ns + round(START_S * 1e9)
    before = [reading.value for reading in supply if reading.at_ns < started.earliest_ns]
    dipping = [reading.value for reading in supply if begun_ns < reading.at_ns <= min(settled_ns, stopped_ns)]
    settled = [reading.value for reading in supply if settled_ns < reading.at_ns < stopped_ns]
    if len(before) < 2 or not dipping or len(settled) < 2:
        raise ValueError("the supply was not read before, during and after the start")
    rest, lowest, steady = math.fsum(before) / len(before), min(dipping), math.fsum(settled) / len(settled)
    own = tuple(instrument)
    at_rest, running = readings("volts before", before), readings("volts while running", settled)
    scatter = edges.typical_scatter([reading for reading in supply if settled_ns < reading.at_ns < stopped_ns])
    single = normal("scatter of one reading", scatter, LOWEST_OF_SEVERAL)
    note = "lowest reading; a dip between two samples may be deeper"
    share = (
        *(line.times(lowest / rest**2) for line in (at_rest, *own)),
        *(line.times(1 / rest) for line in (single, *own)),
    )
    return (
        Budget((at_rest, *own)).figure("supply_before_start", rest, "V", METHOD),
        Budget((single, *own)).figure("supply_lowest_at_start", lowest, "V", METHOD, note=note),
        Budget((running, *own)).figure("supply_running", steady, "V", METHOD),
        Budget(share).figure("supply_dip", (rest - lowest) / rest, "1", METHOD, note=note, lower_bound_only=True),
    )


def _stopped_ns(motor: tuple[Reading, ...], begun_ns: int) -> int:
    """The first reading after the start that shows the motor stopped; a time after the last where none does."""
    return next((r.at_ns for r in motor if r.at_ns > begun_ns and not r.is_true), motor[-1].at_ns + 1)


def insulation_at_40(measured_ohm: float, celsius: float, meter: Sequence[Line] = (), doubt_k: float = 2.0) -> Figure:
    """
    Insulation resistance as it would be at 40 °C, halving with every 10 K.

    Args:
        measured_ohm: At the winding's temperature.

        celsius: That temperature.

        meter: Lines of the tester.

        doubt_k: How far the winding's temperature may be from what was read.

    Raises:
        ValueError: the resistance is not above zero.

    Source: IEEE 43, 6.3, thermoplastic rule of halving (from memory); R40 = R·0.5^((40 − T)/10).
    """
    if not measured_ohm > 0:
        raise ValueError(f"a resistance above zero, not {measured_ohm}")
    factor = math.pow(0.5, (REFERENCE_C - celsius) / HALVES_EVERY_K)
    corrected = measured_ohm * factor
    warmth = rectangular("temperature of the winding", doubt_k, corrected * math.log(2) / HALVES_EVERY_K)
    lines = (warmth, *(line.times(factor) for line in meter))
    return Budget(lines).figure("insulation_at_40_c", corrected, "ohm", METHOD)


def charge_drawn(current: tuple[Reading, ...], instrument: Sequence[Line] = ()) -> Figure:
    """
    Charge taken by a stroke, in ampere-hours: the current over its time, straight from reading to reading.

    Args:
        current: Motor or battery current, A.

        instrument: Lines of what reads it; an error in amperes lasts as long as the trace.

    Raises:
        ValueError: fewer than two readings.
    """
    if len(current) < 2:
        raise ValueError("at least two readings of current")
    parts = [
        (before.value + after.value) / 2 * (after.at_ns - before.at_ns) / 3600e9 for before, after in pairwise(current)
    ]
    # Where current changes between two readings, it may have done so anywhere in between.
    jumps = sorted(
        (
            abs(after.value - before.value) / 2 * (after.at_ns - before.at_ns) / 3600e9
            for before, after in pairwise(current)
        ),
        reverse=True,
    )
    hours = (current[-1].at_ns - current[0].at_ns) / 3600e9
    large = [rectangular("a switching between two readings", jump) for jump in jumps[:SWITCHINGS] if jump]
    small = math.sqrt(math.fsum(jump * jump for jump in jumps[SWITCHINGS:]) / 3)
    lines = (*large, normal("smaller changes between readings", small), *(line.times(hours) for line in instrument))
    return Budget(lines).figure("charge_drawn", math.fsum(parts), "A·h", METHOD)


def source_resistance(rest_v: float, loaded_v: float, current_a: float, instrument: Sequence[Line] = ()) -> Figure:
    """
    Resistance of battery and cable together, from the sag under load; it rises with age, cold and a bad terminal.

    Args:
        rest_v: Volts before.

        loaded_v: Volts under load.

        current_a: The load, above zero.

        instrument: Lines of what reads the volts: its scatter and last digit, since its own error cancels.

    Raises:
        ValueError: there is no load.
    """
    if not current_a > 0:
        raise ValueError("a load above zero")
    lines = [line.times(sign / current_a) for sign in (1.0, -1.0) for line in instrument]
    return Budget(tuple(lines)).figure("source_resistance", (rest_v - loaded_v) / current_a, "ohm", METHOD)
