"""
The protections of a unit (N1 to N9) as data, and what one run saw of one of them.

For each: how it is caused, the bit that has to come, whether it stays until a reset, whether the pump has to stay off,
and, where its setting is a time or a count, from where it runs and what the sheet sets (safety rule R23: at its real
limit). Times are held to the sheet's setting within a second or 2 %, contact lost within three seconds (common
practice, no source).
"""

from collections.abc import Callable, Mapping
from itertools import pairwise

import msgspec

from commission.analysis.budget import Budget, rectangular
from commission.analysis.decision import Limits
from commission.analysis.durations import duration_figure
from commission.analysis.edges import first_change
from commission.analysis.intervals import Instant, between
from commission.analysis.wiring import Finding, PointSeen, WiringSeen
from commission.figure import Figure, make_figure
from commission.sheet import Sheet
from commission.sheet.decode import Reading, Readings

METHOD = "protection.time/1"
TIME = "protection_time"
RESTARTS = "restarts"
MOTOR = "motor_running"

TOLERANCE_S, TOLERANCE_SHARE = 1.0, 0.02
CONTACT_TOLERANCE_S = 3.0
"""The control room's log shows seconds and the two clocks were compared by voice."""

LOG_S = 1.0
"""An event log shows whole seconds; the clock offset by voice is good to as much."""


DID_NOT_ACT = "it did not act"


class NothingActed(Exception):  # the trade's word, not a fault of the program
    """Nothing came of the cause that a time could be made of; the message says why."""


class Protection(msgspec.Struct, frozen=True, kw_only=True):
    """
    One protection.

    Args:
        title: What it is.

        alarm: Role of its bit.

        cause: What people do, from a healthy unit.

        back: What takes the cause away again.

        begins: Role of the bit whose coming starts its time; empty where it acts at once.

        setting: The sheet's setting, in seconds or as a count; None where it has none.

        counts: Whether starts are counted rather than a time.

        stays: Whether it holds until a reset.

        stops_pump: Whether the pump has to be off, and stay off, while it is on.

        tries: What is tried while it is on, with what is wanted of it; empty where nothing is.

        by_log: Whether it is only seen in the control room, because the unit is not heard meanwhile.
    """

    title: str
    alarm: str
    cause: str
    back: str
    begins: str = ""
    setting: Callable[[Sheet], float | None] | None = None
    counts: bool = False
    stays: bool = False
    stops_pump: bool = False
    tries: str = ""
    by_log: bool = False


PROTECTIONS: Mapping[str, Protection] = {
    "low_fluid": Protection(
        title="low fluid",
        alarm="alarm_fluid",
        cause="Lift the float of the level switch by its test rod, or lower the level into a clean container",
        back="Have STOP sent first, then let the float go, or fill the oil back",
        stops_pump=True,
        tries="Have OPEN sent: the pump must not start",
    ),
    "run_limit": Protection(
        title="motor ran too long",
        alarm="alarm_run_time",
        cause="Crack the bypass or bleed so that the pump starts and pressure never reaches cut-out",
        back="Shut the bypass or bleed, and have the valve closed, as agreed",
        begins=MOTOR,
        setting=lambda sheet: sheet.protections.run_limit_s,
        stays=True,
        stops_pump=True,
    ),
    "starts": Protection(
        title="too many starts",
        alarm="alarm_starts",
        cause="Let the pressure fall to cut-in again and again, as by a cracked bleed",
        back="Shut the bleed, then change the command (STOP, then as it was): that forgets the starts",
        setting=lambda sheet: float(sheet.protections.starts_allowed),
        counts=True,
        stays=True,
        stops_pump=True,
    ),
    "travel_open": Protection(
        title="end of travel not reached, opening",
        alarm="alarm_travel",
        cause="Have it opened with the oil led away, or throttled, so that it cannot arrive",
        back="Shut the way that the oil was led",
        begins=MOTOR,
        setting=lambda sheet: sheet.protections.travel_timeout_open_s,
        stays=True,
        stops_pump=True,
    ),
    "not_automatic": Protection(
        title="not in automatic",
        alarm="alarm_not_automatic",
        cause="Turn the selector to LOCAL",
        back="Turn the selector back to REMOTE",
        tries="The controller sends OPEN: it must be refused, with a reason",
        stops_pump=True,
    ),
    "supply": Protection(
        title="low supply",
        alarm="alarm_supply",
        cause="Lower the supply below nine tenths of nominal, with a bench supply or as agreed",
        back="Bring the supply back",
    ),
    "contact_lost": Protection(
        title="contact lost",
        alarm="alarm_relay",
        cause="Pull the lead between laptop and unit; keep it out until the control room has the alarm",
        back="Put the lead back",
        setting=lambda sheet: sheet.link.guard_s,
        by_log=True,
    ),
}
"""Every protection that a step can name."""


class ProtectionSeen(msgspec.Struct, frozen=True, kw_only=True):
    """
    What one run saw.

    Args:
        test: Names the run.

        which: Name in `PROTECTIONS`.

        cause: How it was caused, as said.

        before: From the healthy unit to the alarm.

        acted: Whether the alarm was seen.

        indication: What the unit's own panel showed.

        tried: What came of what was tried.

        room_text: What the controller read.

        room_time: Their clock.

        witness: Who read it.

        late_s: Their time less ours; None where it cannot be told.

        returned: How it went: by itself, after the reset, or not.

        log_s: For one that only the control room sees: seconds from the cause to their time.

        wrong: What was not as it should be.

        why: Why there is no more.
    """

    test: str
    which: str
    cause: str = ""
    before: tuple[Readings, ...] = ()
    acted: bool = False
    indication: str = ""
    tried: str = ""
    room_text: str = ""
    room_time: str = ""
    witness: str = ""
    late_s: float | None = None
    returned: str = ""
    log_s: float | None = None
    wrong: tuple[str, ...] = ()
    why: str = ""
    commanded_by: str = "people at the unit"

    @property
    def spec(self) -> Protection:
        """Which protection it is."""
        return PROTECTIONS[self.which]

    @property
    def timed_by(self) -> str:
        """What timed it."""
        return "control room's log, typed in" if self.spec.by_log else "samples over the link"

    @property
    def faults(self) -> tuple[str, ...]:
        """What fails it, in words."""
        silent = () if self.acted or self.why else (DID_NOT_ACT,)
        return tuple(dict.fromkeys((*silent, *self.wrong)))

    @property
    def verdict(self) -> tuple[bool | None, str]:
        """Whether it did as it should (None where it came to nothing), and in words."""
        if self.why and not self.acted:
            return None, self.why
        if self.faults:
            return False, "; ".join(self.faults)
        return True, f"{self.spec.title}: {self.words}"

    @property
    def words(self) -> str:
        """Everything that was seen, in a line."""
        parts = (
            f"panel: {self.indication}" if self.indication else "",
            f"tried: {self.tried}" if self.tried else "",
            f"their time {self.late_s:+.0f} s of ours" if self.late_s is not None else "",
            self.returned,
        )
        return "; ".join(part for part in parts if part)

    def proved(self) -> WiringSeen:
        """As a row of the record: caused how, seen what, read by whom and when."""
        passed, words = self.verdict
        finding = Finding.RIGHT if passed else Finding.NOT_FORCED if passed is None else Finding.NOT_FOLLOWED
        point = PointSeen(
            role=self.spec.alarm,
            forced=f"{self.spec.title}: {self.cause or 'not caused'}",
            seen=self.words or "nothing",
            finding=finding,
            words="" if passed else words,
            seen_by=self.witness,
            read_back=self.room_text,
            their_time=self.room_time,
        )
        return WiringSeen(points=(point,))


def setting_of(sheet: Sheet, which: str) -> float | None:
    """The sheet's setting of a protection; None where it has none."""
    found = PROTECTIONS[which].setting
    return None if found is None else found(sheet)


def protection_limits(sheet: Sheet, which: str) -> Limits | None:
    """Limits of its time, in seconds, or of its count; None where the sheet sets nothing."""
    setting = setting_of(sheet, which)
    if setting is None:
        return None
    spec = PROTECTIONS[which]
    if spec.counts:
        return Limits(f"{setting:g}", f"{setting:g}")
    room = CONTACT_TOLERANCE_S if spec.by_log else max(TOLERANCE_S, TOLERANCE_SHARE * setting)
    return Limits(f"{max(0.0, setting - room):g}", f"{setting + room:g}")


def protection_figures(seen: ProtectionSeen, sheet: Sheet) -> tuple[Figure, ...]:
    """
    Its time, or how many restarts it allowed.

    Raises:
        NothingActed: it did not act, or its beginning was not seen.
    """
    spec = seen.spec
    if spec.by_log:
        return (_by_log(seen),)
    track = _track(seen.before, spec.alarm)
    acted = first_change(track, bool, round(sheet.link.scan_s * 1e9), "the alarm, across a gap")
    if acted is None:
        raise NothingActed(seen.why or "it did not act")
    if spec.counts:
        return _restarts(seen.before, sheet)
    begun = _last_start(seen.before, spec.begins, acted, sheet)
    if begun is None:
        raise NothingActed(f"the beginning was not seen: no {spec.begins.replace('_', ' ')} before the alarm")
    return (duration_figure(TIME, begun, acted, METHOD),)


def _by_log(seen: ProtectionSeen) -> Figure:
    """Two clocks, a log of whole seconds, and the time between two readings."""
    if seen.log_s is None or not seen.before:
        raise NothingActed(seen.why or "the control room's time is not known")
    steps = [after.at_ns - before.at_ns for before, after in pairwise(seen.before)]
    poll_s = max(steps, default=0) / 1e9
    lines = (
        rectangular("control room's log", LOG_S / 2),
        rectangular("clocks compared by voice", LOG_S),
        rectangular("last reading before the cause", poll_s / 2),
    )
    return Budget(lines).figure(TIME, seen.log_s, "s", METHOD, note="by the control room's log")


def _restarts(before: tuple[Readings, ...], sheet: Sheet) -> tuple[Figure, ...]:
    """How often the motor started before the one that was refused, and over how long a time."""
    track = _track(before, MOTOR)
    starts = [after for earlier, after in pairwise(track) if after.is_true and not earlier.is_true]
    allowed = sheet.protections.starts_allowed
    over_s = (starts[-1].at_ns - starts[0].at_ns) / 1e9 if len(starts) > 1 else 0.0
    window_s = sheet.protections.starts_window_min * 60
    note = f"{len(starts)} starts in {over_s:.0f} s, the next was refused; the sheet allows {allowed} in {window_s:g} s"
    return (make_figure(RESTARTS, float(len(starts)), 0.0, "1", METHOD, note=note),)


def _last_start(before: tuple[Readings, ...], role: str, acted: Instant, sheet: Sheet) -> Instant | None:
    """The last time before the alarm that the bit came which starts the time."""
    found = None
    for earlier, after in pairwise(_track(before, role)):
        if after.is_true and not earlier.is_true and after.at_ns < acted.at_ns:
            found = between(earlier, after, round(sheet.link.scan_s * 1e9))
    return found


def _track(seen: tuple[Readings, ...], role: str) -> tuple[Reading, ...]:
    return tuple(reading for item in seen if (reading := item.get(role)) is not None)
