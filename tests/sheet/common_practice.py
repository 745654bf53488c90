"""A second sheet of settings: 180 s run limit and six starts in 15 minutes (common practice, no source)."""

import msgspec

from commission.sheet import Sheet
from tests.sheet.xv import xv_1101


def run_180_s_six_starts_in_15_min() -> Sheet:
    """The invented unit with the settings that are met most (common practice, no source)."""
    sheet = xv_1101()
    protections = msgspec.structs.replace(
        sheet.protections, run_limit_s=180.0, starts_allowed=6, starts_window_min=15.0, travel_timeout_open_s=175.0
    )
    return msgspec.structs.replace(sheet, protections=protections)
