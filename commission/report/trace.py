"""A stroke over time, as a report plots it: made by the caller from the record, so the report opens no database."""

import msgspec

Floats = tuple[float, ...]


class Trace(msgspec.Struct, frozen=True):
    """
    One run over time.

    Args:
        run: Id of the run.

        time_s: Seconds since the command, or since the first sample where there was none; rising.

        travel: Fraction of full travel, 1 at open; as many as times, or empty where it was not read.

        pressure_pa: Cylinder pressure, likewise.

        current_a: Motor current, likewise.

        gaps_s: From and to, for each stretch without readings: no line is drawn across it.

    Raises:
        ValueError: a series is neither empty nor as long as the times.
    """

    run: str
    time_s: Floats
    travel: Floats = ()
    pressure_pa: Floats = ()
    current_a: Floats = ()
    gaps_s: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        """Refuse series that do not belong to the times."""
        for name in ("travel", "pressure_pa", "current_a"):
            series = getattr(self, name)
            if series and len(series) != len(self.time_s):
                raise ValueError(f"trace {self.run}: {len(series)} values of {name} for {len(self.time_s)} times")
