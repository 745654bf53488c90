"""Bounds that published rules put on pressure trips, and the fastest closing of a liquid line: for information."""

from commission.engineering import trip_bounds
from commission.engineering.expectation import Gathering, Topic
from commission.engineering.surge import LiquidLine
from commission.engineering.topics.strokes import limits_of
from commission.engineering.unit import Unit
from commission.sheet.model import End
from commission.sheet.owner import Pipeline

_PA = 1e5


def line(unit: Unit) -> Topic:
    """Trip bounds beside the monitor's set points; surge."""
    found = Gathering("Line, for information: set points are the owner's engineer's")
    pipeline = unit.sheet.pipeline
    if pipeline is None:
        if unit.sheet.monitor is not None:
            found.lack("pipeline", "bounds of the pressure trips")
        return found.topic
    _trips(unit, pipeline, found)
    _surge(unit, pipeline, found)
    return found.topic


def _trips(unit: Unit, pipeline: Pipeline, found: Gathering) -> None:
    monitor = unit.sheet.monitor
    high = "" if monitor is None else f"high trip set {monitor.high_trip_bar:g} bar"
    low = "" if monitor is None else f"low trip set {monitor.low_trip_bar:g} bar"
    if pipeline.maop_bar is not None:
        at_75 = None if pipeline.yield_75_bar is None else pipeline.yield_75_bar * _PA
        _bound(found, "trip.protected", trip_bounds.protected_limit(pipeline.maop_bar * _PA, at_75), high)
    if pipeline.highest_operating_bar is not None:
        relief = None if pipeline.relief_bar is None else pipeline.relief_bar * _PA
        _bound(found, "trip.high", trip_bounds.highest_high_trip(pipeline.highest_operating_bar * _PA, relief), high)
    if pipeline.lowest_operating_bar is not None:
        _bound(found, "trip.low", trip_bounds.lowest_low_trip(pipeline.lowest_operating_bar * _PA), low)
    if monitor is not None:
        found.needs(
            "bounds of the pressure trips",
            pipeline__maop_bar=pipeline.maop_bar,
            pipeline__highest_operating_bar=pipeline.highest_operating_bar,
            pipeline__lowest_operating_bar=pipeline.lowest_operating_bar,
        )


def _bound(found: Gathering, name: str, bound: trip_bounds.Bound, setting: str) -> None:
    origin = f"{bound.words}; {bound.source}"
    found.add(name, bound.name, bound.pressure_pa / _PA, "bar", origin, note=setting)


def _surge(unit: Unit, pipeline: Pipeline, found: Gathering) -> None:
    if pipeline.shortest_closing_s is not None:
        origin = f"surge study, given by {pipeline.given_by}"
        found.add(
            "surge.study",
            "shortest closing",
            pipeline.shortest_closing_s,
            "s",
            origin,
            note=_beside(unit, pipeline.shortest_closing_s),
        )
    parts = (pipeline.density_kg_m3, pipeline.wave_m_s, pipeline.velocity_m_s, pipeline.length_m)
    density, wave, velocity, length = parts
    if density is None or wave is None or velocity is None or length is None:
        if any(part is not None for part in parts) or pipeline.allowed_surge_bar is not None:
            found.lack("pipeline", "surge: density_kg_m3, wave_m_s, velocity_m_s and length_m, all four")
        return
    liquid = LiquidLine(density_kg_m3=density, wave_m_s=wave, velocity_m_s=velocity, length_m=length)
    origin = f"Joukowsky and Michaud, line as given by {pipeline.given_by}; the owner's surge study rules"
    found.add("surge.full", "surge of a sudden closing", liquid.full_surge_pa / _PA, "bar", origin)
    found.add("surge.reflection", "a wave comes back after", liquid.reflection_s, "s", origin)
    if pipeline.allowed_surge_bar is not None:
        fastest = liquid.fastest_closing_s(pipeline.allowed_surge_bar * _PA, pipeline.closing_share)
        found.add(
            "surge.fastest",
            f"fastest closing for {pipeline.allowed_surge_bar:g} bar",
            fastest,
            "s",
            origin,
            note=_beside(unit, fastest),
        )


def _beside(unit: Unit, shortest_s: float) -> str:
    limits = limits_of(unit, End.CLOSED)
    stands = "not below it" if limits.shortest_s >= shortest_s else "BELOW it: the stroke may be too fast for the line"
    return f"sheet's shortest closing {limits.shortest_s:g} s, {stands}"
