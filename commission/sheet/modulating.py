"""Analogue command and feedback of a modulating unit."""

from typing import Literal

import msgspec

from commission.sheet.bounds import NonNegative, Positive


class Signal(msgspec.Struct, frozen=True, kw_only=True):
    """
    An analogue signal over the valve's travel.

    Args:
        unit: Milliampere or volt.

        at_closed: Its value for closed.

        at_open: Its value for open; below `at_closed` where the action is reversed.

        lost_below: A command below this is lost; None where loss is not told from a low command.

        lost_after_s: For so long, before the unit acts on the loss.

        load_ohm: Resistance in the loop that the receiver puts there.
    """

    unit: Literal["mA", "V"]
    at_closed: float
    at_open: float
    lost_below: float | None = None
    lost_after_s: NonNegative = 0.0
    load_ohm: Positive | None = None


class Modulating(msgspec.Struct, frozen=True, kw_only=True):
    """
    How a modulating unit follows its command.

    Args:
        command: The signal that commands it.

        feedback: The signal that it reports its travel by.

        dead_band_pct: Change of command, in % of travel, that moves nothing.

        dead_time_s: From a step of the command to the first motion.

        speed_pct_s: Rate of travel in the middle of a large step.

        set_point_step_pct: Largest step that may be commanded over the link (safety rule R14).

        set_point_rate_pct_s: Fastest change that may be commanded over the link.
    """

    command: Signal
    feedback: Signal
    dead_band_pct: Positive
    dead_time_s: NonNegative
    speed_pct_s: Positive
    set_point_step_pct: Positive | None = None
    set_point_rate_pct_s: Positive | None = None
