"""
What the owner gives of the line and of the safety calculation: nothing here can be read off the unit.

Each of these tables may be left out; what follows from it is then said to be lacking, and nothing is guessed.
"""

from typing import Annotated

import msgspec

from commission.sheet.bounds import Count, NonNegative, Positive

Share = Annotated[float, msgspec.Meta(gt=0, le=1)]


class Pipeline(msgspec.Struct, frozen=True, kw_only=True):
    """
    The line that the valve stands in, gauge pressures.

    Args:
        given_by: Who gave these numbers.

        maop_bar: Maximum allowable operating pressure.

        yield_75_bar: Pressure that makes a hoop stress of 75 % of the specified minimum yield strength.

        highest_operating_bar: Top of the normal operating range.

        lowest_operating_bar: Bottom of it.

        relief_bar: Set pressure of a relief valve on the line.

        density_kg_m3: Of the liquid in a liquid line.

        wave_m_s: Speed of a pressure wave in a liquid line.

        velocity_m_s: Of the flow that the valve stops.

        length_m: To the next point that reflects a pressure wave.

        allowed_surge_bar: Rise of pressure that closing may make.

        closing_share: Share of the stroke in which the valve takes the flow away.

        shortest_closing_s: From the owner's surge study, which rules over any computation.
    """

    given_by: str
    maop_bar: Positive | None = None
    yield_75_bar: Positive | None = None
    highest_operating_bar: Positive | None = None
    lowest_operating_bar: Positive | None = None
    relief_bar: Positive | None = None
    density_kg_m3: Positive | None = None
    wave_m_s: Positive | None = None
    velocity_m_s: Positive | None = None
    length_m: Positive | None = None
    allowed_surge_bar: Positive | None = None
    closing_share: Share = 1.0
    shortest_closing_s: Positive | None = None


class GivenNumber(msgspec.Struct, frozen=True, kw_only=True):
    """A number of a safety calculation, and who gave it (safety rule R26)."""

    value: NonNegative
    by: str


class Reliability(msgspec.Struct, frozen=True, kw_only=True):
    """
    Inputs of the final element's average probability of failure on demand, each with who gave it (safety rule R26).

    Args:
        undetected_per_h: Rate of dangerous failures that only a test reveals.

        full_interval_h: Between full-stroke proof tests.

        full_coverage: Share of them that the full test reveals.

        life_h: From new to overhaul.

        partial_interval_h: Between partial-stroke tests.

        partial_coverage: Share that a partial test reveals.

        detected_per_h: Rate of dangerous failures that diagnostics reveal.

        repair_h: Time to restore.
    """

    undetected_per_h: GivenNumber
    full_interval_h: GivenNumber
    full_coverage: GivenNumber
    life_h: GivenNumber
    partial_interval_h: GivenNumber | None = None
    partial_coverage: GivenNumber | None = None
    detected_per_h: GivenNumber | None = None
    repair_h: GivenNumber | None = None


class Interval(msgspec.Struct, frozen=True, kw_only=True):
    """
    How often something is tested, as the owner chose it.

    Args:
        what: What is tested, as `valve inspected and partially operated`.

        rule: Name of a published rule; empty for an interval of the owner's own.

        months: Own interval, whole months.

        days: Own interval, days.

        chosen_by: Who chose it.
    """

    what: str
    chosen_by: str
    rule: str = ""
    months: Count = 0
    days: Count = 0

    def __post_init__(self) -> None:
        """A published rule, or an interval of one's own."""
        if bool(self.rule) == bool(self.months or self.days):
            raise ValueError("either rule, or months and days")
