"""Strokes as they must come out: times, pressures at both ends of motion, the partial stroke, the emergency stroke."""

import math

from commission.engineering.expectation import Gathering, Topic
from commission.engineering.moving import EMPTY_LINE, Conditions, Mover, Stroke
from commission.engineering.proposals import slowest
from commission.engineering.stored import emergency
from commission.engineering.unit import Unit
from commission.sheet.model import End, StrokeLimits

WORDS = {End.OPEN: "opening", End.CLOSED: "closing"}
SELF_CONSISTENT = 0.10
"""A sheet is self-consistent within a tenth: computed against its own expected time. Common practice, no source."""


def strokes(unit: Unit) -> Topic:
    """Computed strokes beside the sheet's own times and limits."""
    found, mover = Gathering("Strokes"), Mover(unit)
    for towards in (End.OPEN, End.CLOSED):
        _stroke(unit, mover, found, towards)
    _partial(unit, mover, found)
    _emergency(unit, found)
    return found.topic


def dead_time_s(unit: Unit, mover: Mover, towards: End) -> float:
    """Dead time as far as the sheet lets it be told: pressure build-up of a pumped stroke, or the stated lag."""
    if unit.flow_control_m3_s(towards) is not None:
        return 0.0 if unit.sheet.modulating is None else unit.sheet.modulating.dead_time_s
    return mover.build_up_s(towards) if towards in unit.drive.powered_ends else 0.0


def limits_of(unit: Unit, towards: End) -> StrokeLimits:
    """The sheet's limits of a stroke."""
    return unit.sheet.strokes.opening if towards is End.OPEN else unit.sheet.strokes.closing


def _stroke(unit: Unit, mover: Mover, found: Gathering, towards: End) -> None:
    word, stroke, limits = WORDS[towards], mover.stroke(towards), limits_of(unit, towards)
    if stroke is None:
        found.lack("orifices.spring_stroke_mm2", f"the {word} time by the spring")
        return
    dead_s = dead_time_s(unit, mover, towards)
    whole_s = stroke.time_s + (0.0 if limits.measured_as == "t7-t3" else dead_s)
    found.add(
        f"stroke.{word}.time",
        f"{word} time, empty line",
        whole_s,
        "s",
        f"{stroke.by}, oil 20 °C",
        digits=4 if 100 <= whole_s < math.inf else 3,
        note=_beside(whole_s, limits),
    )
    found.add(
        f"stroke.{word}.dead", f"{word} dead time, no free air", dead_s or None, "s", "build-up to breakaway", digits=2
    )
    if stroke.by != "flow control":
        found.add(f"stroke.{word}.start", f"{word} pressure at first motion", stroke.start_pa / 1e5, "bar", stroke.by)
        found.add(f"stroke.{word}.end", f"{word} pressure at end of motion", stroke.end_pa / 1e5, "bar", stroke.by)
    _heavier(unit, mover, found, towards, limits)


def _beside(seconds: float, limits: StrokeLimits) -> str:
    off = abs(seconds / limits.expected_s - 1) if math.isfinite(seconds) else math.inf
    agrees = "agrees with" if off <= SELF_CONSISTENT else "DIFFERS from"
    return f"{agrees} the sheet's {limits.expected_s:g} s ({limits.shortest_s:g} to {limits.longest_s:g})"


def _heavier(unit: Unit, mover: Mover, found: Gathering, towards: End, limits: StrokeLimits) -> None:
    word, design = WORDS[towards], mover.stroke(towards, Conditions(load_share=1.0))
    limit = limits.longest_at_design_s
    against = "" if limit is None else f"limit {limit:g} s"
    if design is not None and unit.drive.loads:
        found.add(
            f"stroke.{word}.design",
            f"{word} time, design load",
            design.time_s,
            "s",
            f"{design.by}, oil 20 °C",
            note=against,
        )
    slow = slowest(unit, towards)
    if slow is not None:
        note = f"ABOVE the limit {limit:g} s" if limit is not None and slow.stroke.time_s > limit else against
        found.add(
            f"stroke.{word}.slowest",
            f"{word} time, slowest legitimate",
            slow.stroke.time_s,
            "s",
            slow.because,
            note=note,
        )


def _partial(unit: Unit, mover: Mover, found: Gathering) -> None:
    sheet = unit.sheet.partial_stroke
    if sheet is None:
        return
    out = mover.partial(sheet.target_pct / 100)
    if out is None:
        found.lack("orifices.partial_stroke_mm2", "the partial stroke's time")
        return
    origin = f"{sheet.path}, oil 20 °C"
    name = f"partial stroke, {sheet.target_pct:g} % out"
    found.add("partial.out", name, out.time_s, "s", origin, note=f"sheet {sheet.out_s:g} s")
    found.add("partial.pressure", "partial stroke, pressure at its end", out.end_pa / 1e5, "bar", origin)
    guard = mover.partial(sheet.guard_travel_pct / 100)
    whole = mover.partial(1.0)
    found.add(
        "partial.guard",
        f"partial path to {sheet.guard_travel_pct:g} %",
        _time(guard),
        "s",
        origin,
        note="the guard's travel",
    )
    found.add("partial.whole", "partial path to the end", _time(whole), "s", origin, note="if nothing turned it round")


def _time(stroke: Stroke | None) -> float | None:
    return None if stroke is None else stroke.time_s


def _emergency(unit: Unit, found: Gathering) -> None:
    stroke = emergency(unit, unit.cut_in_pa)
    if stroke is None:
        return
    word = "close" if stroke.towards is End.CLOSED else "open"
    origin = f"accumulator from cut-in {unit.sheet.pump.cut_in_bar:g} bar, pump off, fast (n = 1.4)"
    required = unit.sheet.valve.required_margin
    low = required is not None and stroke.factor < required
    note = "" if required is None else f"{'BELOW the required' if low else 'required'} {required:g}"
    left_bar, further = stroke.end_pa / 1e5, "real nitrogen may fall up to 5 % further"
    found.add(
        "emergency.pressure",
        f"emergency stroke to {word}, pressure left",
        left_bar,
        "bar",
        origin,
        note=further,
    )
    found.add("emergency.force", "force left at the rod", stroke.force_n / 1000, "kN", origin)
    found.add("emergency.margin", "margin at the end of it", stroke.factor, "", origin, note=note)
    found.add("emergency.strokes", "whole strokes left", float(stroke.strokes), "", origin, digits=0)


def run_to_cut_out_s(unit: Unit, towards: End) -> float | None:
    """Motor run of an empty-line stroke until cut-out: build-up, stroke, and filling the accumulator after it."""
    mover = Mover(unit)
    stroke = mover.stroke(towards, EMPTY_LINE)
    if stroke is None or stroke.by != "pump":
        return None
    rest = unit.drive.stroke_m3(towards) * max(0.0, unit.cut_out_pa - stroke.end_pa) / unit.bulk_pa
    filling = mover.fill_s(stroke.end_pa, unit.cut_out_pa) + rest / unit.pump.stated_m3_s
    return mover.build_up_s(towards) + stroke.time_s + filling
