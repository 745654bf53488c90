"""
How well the unit is heard: counts, latencies, ages, and whether it lives (safety rule R18).

Ages are unit time, because a practice unit at speed must look as old as a real one would; latencies are wire time.
"""

from collections import Counter, deque

import msgspec

NS_PER_S = 1_000_000_000
ALIVE_WITHIN_S = 5.0
"""The alive point must change within this (safety rule R18), in unit time."""

_KEPT_LATENCIES = 1000


class Latency(msgspec.Struct, frozen=True):
    """Round trips in wire time: the median and the 99th percentile of the last `count`."""

    p50_s: float
    p99_s: float
    count: int


def latency_of(round_trips_s: list[float]) -> Latency | None:
    """
    Median and 99th percentile by nearest rank (the smallest value that at least that share does not exceed).

    With fewer than 100 values the 99th percentile is the largest seen.
    """
    if not round_trips_s:
        return None
    ranked = sorted(round_trips_s)
    n = len(ranked)
    return Latency(ranked[-(-n * 50 // 100) - 1], ranked[-(-n * 99 // 100) - 1], n)


class Health:
    """
    What is known of the link now.

    Args:
        started_ns: Unit time when watching began.
    """

    def __init__(self, started_ns: int) -> None:
        self._round_trips_s: deque[float] = deque(maxlen=_KEPT_LATENCIES)
        self._last_good_ns: int | None = None
        self._started_ns = started_ns
        self._alive_words: tuple[int, ...] | None = None
        self._alive_changed_ns = started_ns
        self._alive_seen = False
        self.counts: Counter[str] = Counter()
        self._earlier: Counter[str] = Counter()

    def answered(self, round_trip_s: float) -> None:
        """An exchange came back whole."""
        self.counts["answered"] += 1
        self._round_trips_s.append(round_trip_s)

    def failed(self, kind: str) -> None:
        """An exchange did not; `kind` is the fault's name."""
        self.counts[kind] += 1

    def count_anew(self) -> None:
        """The unit had reason to be silent until now, as without its supply: `counts_anew` begin here."""
        self._earlier = Counter(self.counts)

    @property
    def counts_anew(self) -> Counter[str]:
        """As `counts`, since `count_anew`."""
        return self.counts - self._earlier

    def sampled(self, at_ns: int) -> None:
        """A whole sample was read at this unit time."""
        self._last_good_ns = at_ns

    def alive_read(self, words: tuple[int, ...], at_ns: int) -> None:
        """The alive point was read; raw words, unit time."""
        if not self._alive_seen or words != self._alive_words:
            self._alive_words, self._alive_changed_ns = words, at_ns
        self._alive_seen = True

    @property
    def latency(self) -> Latency | None:
        """Round trips, or None before the first."""
        return latency_of(list(self._round_trips_s))

    def age_s(self, now_ns: int) -> float | None:
        """Seconds of unit time since the last whole sample, or None before the first."""
        return None if self._last_good_ns is None else (now_ns - self._last_good_ns) / NS_PER_S

    def struck_out(self, now_ns: int) -> str | None:
        """Why no value on screen may be believed, or None where they may (safety rule R18)."""
        age = self.age_s(now_ns)
        if age is None:
            return "nothing has been read yet"
        if age > ALIVE_WITHIN_S:
            return f"nothing has been read for {age:.0f} s"
        standing_s = (now_ns - self._alive_changed_ns) / NS_PER_S
        if self._alive_seen and standing_s > ALIVE_WITHIN_S:
            return f"the point that shows the unit is alive has not changed for {standing_s:.0f} s"
        return None
