"""
What a partial stroke is told besides the sheet: the line's own times, the rest before, what was agreed, the baseline.

It all travels as the text of the procedure's arguments, so it stands in the record before the first command, and the
record alone is enough to judge the stroke again.
"""

from collections.abc import Mapping

import msgspec

from commission.analysis.baseline import Baseline

LEAST_GAP_S = 0.25
GAP_POLLS = 3
"""A gap aborts at three polls or a quarter of a second, whichever is longer (safety rule R22)."""

STEADY_S = 60.0
"""The valve stands still, and the line is good, for this long before the command (common practice, no source)."""


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """
    What is known when a partial stroke is asked for.

    Args:
        test: Names the run.

        cycle_s: From one sample to the next, in wire time.

        latency_s: Longest until a command has reached the unit, a waiting transaction included, in wire time.

        speed: Unit time in a second of wire time; 1 on a real unit.

        rest_h: Hours at rest before it; None where nobody knows.

        starts_used: Motor starts in the unit's window so far, as somebody counted them.

        line_change_bar: How far the line pressure may change during it, as agreed.

        turn_at_pct: A deliberate return from here, in percent of travel; None to go to the target.

        baseline: What it is held against; None where there is none yet.

        apart: Why it cannot be held against the baseline; empty where it can.

        commanded_by: Who starts it, where the sheet says that it is watched.

        steady_s: How long the valve is seen still before the command.

        settings: The unit's settings by role, as they were read back just before, as text.

        oil_c: Oil temperature just before, °C.

        supply_v: Supply just before, V.
    """

    test: str
    cycle_s: float = 0.1
    latency_s: float = 0.1
    speed: float = 1.0
    rest_h: float | None = None
    starts_used: int | None = None
    line_change_bar: float | None = None
    turn_at_pct: float | None = None
    baseline: Baseline | None = None
    apart: str = ""
    commanded_by: str = "control room"
    steady_s: float = STEADY_S
    settings: Mapping[str, str] = {}
    oil_c: float | None = None
    supply_v: float | None = None

    @property
    def gap_s(self) -> float:
        """How long the unit may be silent, in wire time."""
        return max(GAP_POLLS * self.cycle_s, LEAST_GAP_S)

    def mean(self, figure: str) -> float | None:
        """Mean of a figure in the baseline, where it may be compared."""
        if self.baseline is None or self.apart or self.baseline.oil_apart(self.oil_c):
            return None
        values = [float(run.values[figure][0]) for run in self.baseline.runs if figure in run.values]
        return sum(values) / len(values) if values else None


def as_arguments(told: Told) -> dict[str, str]:
    """The same as the arguments of a procedure: only what is not left at its default."""
    fresh = Told(test=told.test)
    changed = [name for name in told.__struct_fields__ if getattr(told, name) != getattr(fresh, name)]
    return {"test": told.test, **{name: _as_text(getattr(told, name)) for name in changed}}


def from_arguments(arguments: Mapping[str, str]) -> Told:
    """
    What a procedure was told; arguments of the checklist that it does not know are left alone.

    Raises:
        ValueError: one of them is not what it should be.
    """
    texts = {field.name for field in msgspec.structs.fields(Told) if field.type is str}
    known = {name: text for name, text in arguments.items() if name in Told.__struct_fields__}
    plain = {name: text if name in texts else msgspec.json.decode(text.encode()) for name, text in known.items()}
    return msgspec.convert(plain, Told)


def _as_text(value: object) -> str:
    return value if isinstance(value, str) else msgspec.json.encode(value).decode()
