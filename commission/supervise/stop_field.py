"""What the stop key does now, in words: its place on the screen never says less (safety rule R11)."""

from commission.procedures.requests import SafeEnd
from commission.sheet import Sheet

WIDTH = 80
"""Columns that the words may take, where nobody says otherwise."""


def stop_field(
    sheet: Sheet,
    safe_end: SafeEnd | None,
    make_safe_s: float | None,
    key: str,
    width: int = WIDTH,
    return_key: str = "",
) -> str:
    """
    What the stop key does in the motion that is open, or about to open: the fullest sentence that fits.

    What it does and where the local stop is are never left out; only how it is said becomes shorter.

    Args:
        sheet: The unit's sheet, for the local stop.

        safe_end: What was agreed as the safe end; None where nothing moves and nothing is commanded.

        make_safe_s: Longest time until a stop has reached the unit, measured at connect; None without a line.

        key: Name of the key, as `SPACE`.

        width: Columns there are.

        return_key: In a partial stroke, where the stop key stops and this one brings the valve back; else empty.
    """
    local = f"Local: {sheet.behaviour.local_stop}"
    if safe_end is None:
        ends = f"{key} ends the watch."
        return _fitting((f"Nothing is commanded here. {ends} {local}", f"{ends} {local}"), width)
    if make_safe_s is None or safe_end is SafeEnd.SEND_NOTHING:
        nothing = "NOTHING HERE STOPS THIS STROKE."
        return _fitting((f"{nothing} Keep out. {local}", f"{nothing} {local}"), width)
    time = f"{max(make_safe_s, 0.01):.2f} s."
    if return_key:
        both = f"{key} sends STOP, {return_key} RETURN,"
        return _fitting((f"{both} reaches the unit in {time} {local}", f"{both} {time} {local}"), width)
    word = "STOP" if safe_end is SafeEnd.STOP else "RETURN"
    does = f"{key} sends {word},"
    return _fitting((f"{does} reaches the unit in {time} {local}", f"{does} {time} {local}"), width)


def _fitting(sentences: tuple[str, ...], width: int) -> str:
    return next((words for words in sentences if len(words) <= width), sentences[-1])
