"""
Bounds that published rules put on pressure trips, as information with their source.

The set point is the owner's engineer's. Offshore rules do not bind an onshore pipeline: they are printed as published
numbers, and say so. Rules that add a fixed 5 or 6 psi are computed in psi, as they are written.
"""

import msgspec

PSI_PA = 6894.757293168361
"""One pound-force on a square inch, from its exact definition."""

_GAS = "49 CFR 192.201(a)(2), as in 2015"
_OFFSHORE = "30 CFR 250.803(b), 2015 edition; offshore, not binding onshore"


class Bound(msgspec.Struct, frozen=True, kw_only=True):
    """
    A bound on a trip.

    Args:
        name: Of what.

        pressure_pa: Gauge.

        words: The rule, in words.

        source: Where it stands.
    """

    name: str
    pressure_pa: float
    words: str
    source: str


def protected_limit(maop_pa: float, at_75_pct_yield_pa: float | None = None) -> Bound:
    """
    Highest pressure that overpressure protection may let a gas line reach.

    Args:
        maop_pa: Maximum allowable operating pressure, gauge.

        at_75_pct_yield_pa: Pressure that makes a hoop stress of 75 % of the specified minimum yield strength, from the
            owner; it governs a line of 60 psi or more where it is lower.

    Raises:
        ValueError: MAOP is not above zero.
    """
    if maop_pa <= 0:
        raise ValueError("an MAOP above zero")
    psi = maop_pa / PSI_PA
    if psi >= 60.0:
        limit_pa, words = maop_pa * 1.1, "MAOP plus 10 %, or 75 % of yield if lower"
        if at_75_pct_yield_pa is not None and at_75_pct_yield_pa < limit_pa:
            limit_pa, words = at_75_pct_yield_pa, "pressure of 75 % of yield, lower than MAOP plus 10 %"
    elif psi >= 12.0:
        limit_pa, words = maop_pa + 6.0 * PSI_PA, "MAOP plus 6 psi, MAOP from 12 to below 60 psi"
    else:
        limit_pa, words = maop_pa * 1.5, "MAOP plus 50 %, MAOP below 12 psi"
    if at_75_pct_yield_pa is None and psi >= 60.0:
        words += " (75 % of yield not given)"
    return Bound(name="pressure limit of the protected line", pressure_pa=limit_pa, words=words, source=_GAS)


def high_stress_limit(maop_pa: float) -> Bound:
    """Limit of a steel line with its MAOP under 192.619(c) and a hoop stress above 72 % of yield: MAOP plus 4 %."""
    return Bound(
        name="pressure limit, hoop stress above 72 % of yield",
        pressure_pa=maop_pa * 1.04,
        words="MAOP plus 4 %",
        source="49 CFR 192.739(b), as in 2015",
    )


def highest_high_trip(highest_operating_pa: float, relief_pa: float | None = None) -> Bound:
    """
    Highest set point of a high shut-in sensor above the highest operating pressure, and below a relief valve.

    Args:
        highest_operating_pa: Highest pressure of the operating range, gauge.

        relief_pa: Set pressure of a relief valve on the same line.
    """
    limit_pa = highest_operating_pa + _share(highest_operating_pa, 0.15)
    words = "15 % or 5 psi above the highest operating pressure, whichever is greater"
    if relief_pa is not None and relief_pa - _share(relief_pa, 0.05) < limit_pa:
        limit_pa, words = relief_pa - _share(relief_pa, 0.05), "5 % or 5 psi below the relief valve, the greater"
    return Bound(name="highest high trip", pressure_pa=limit_pa, words=words, source=_OFFSHORE)


def lowest_low_trip(lowest_operating_pa: float) -> Bound:
    """Lowest set point of a low shut-in sensor below the lowest operating pressure, gauge."""
    return Bound(
        name="lowest low trip",
        pressure_pa=lowest_operating_pa - _share(lowest_operating_pa, 0.15),
        words="15 % or 5 psi below the lowest operating pressure, whichever is greater",
        source=_OFFSHORE,
    )


def _share(pressure_pa: float, share: float) -> float:
    return max(share * pressure_pa, 5.0 * PSI_PA)
