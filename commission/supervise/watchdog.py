"""
Notices that the program was not awake: a closed lid, a suspended process, a machine too busy to be trusted.

Two signs: the event loop came back much later than it should (the process stood still), and the calendar clock ran
ahead of the monotonic one (the machine slept). Either is a stop, and the energy state is unknown after it.
"""

from collections.abc import Callable

from commission.clock import NS_PER_S, Clock

TICK_S = 0.25
LATE_S = 2.0
"""Later than this is not a busy moment."""


async def watch(clock: Clock, on_late: Callable[[float], None]) -> None:
    """
    Tick for ever; call `on_late` with the seconds lost each time the program was not awake.

    Args:
        clock: Wire time and calendar.

        on_late: What to do about it; must not raise.
    """
    wire_ns, unit_ns, utc = clock.wire_ns(), clock.unit_ns(), clock.utc()
    while True:
        await clock.sleep_wire(TICK_S)
        now_ns, now_unit_ns, now_utc = clock.wire_ns(), clock.unit_ns(), clock.utc()
        late_s = (now_ns - wire_ns) / NS_PER_S - TICK_S
        # UTC gains on unit time only where the calendar ran on while the monotonic clock stood, whatever the speed
        slept_s = (now_utc - utc).total_seconds() - (now_unit_ns - unit_ns) / NS_PER_S
        lost_s = max(late_s, slept_s)
        if lost_s > LATE_S:
            on_late(lost_s)
        wire_ns, unit_ns, utc = now_ns, now_unit_ns, now_utc
