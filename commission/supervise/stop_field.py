"""What the stop key does now, in words: its place on the screen never says less (safety rule R11)."""

from commission.procedures.requests import SafeEnd
from commission.sheet import Sheet


def stop_field(sheet: Sheet, safe_end: SafeEnd, make_safe_s: float | None, key: str) -> str:
    """
    What the stop key does in the motion that is open, or about to open.

    Args:
        sheet: The unit's sheet, for the local stop.

        safe_end: What was agreed as the safe end.

        make_safe_s: Longest time until a stop has reached the unit, measured at connect; None without a line.

        key: Name of the key, as `SPACE`.
    """
    nothing = f"NOTHING HERE STOPS THIS STROKE. Keep out. Local: {sheet.behaviour.local_stop}"
    if make_safe_s is None or safe_end is SafeEnd.SEND_NOTHING:
        return nothing
    word = "STOP" if safe_end is SafeEnd.STOP else "RETURN"
    return (
        f"{key} sends {word}, reaches the unit in {max(make_safe_s, 0.01):.2f} s. Local: {sheet.behaviour.local_stop}"
    )
