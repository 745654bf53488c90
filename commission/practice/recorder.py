"""An independent recorder that people have fitted at the stem: two channels, its own clock, no word to the link."""

STEP_S = 0.02
"""Between two of its records."""

_LEAVES_PCT = 0.2
_STILL_S = 0.5


class StemRecorder:
    """Keeps when the supervised supply or ESD loop went, and when the stem last left its place and came to rest."""

    def __init__(self) -> None:
        self._cause_s = self._left_s = self._home_s = 0.0
        self._healthy = True
        self._rest_pct: float | None = None
        self._last_pct = 0.0
        self._moving = False

    @property
    def shown(self) -> dict[str, float]:
        """The three times, as read off its trace to its own step."""
        return {
            "cause": _to_step(self._cause_s),
            "left": _to_step(self._left_s),
            "home": _to_step(self._home_s),
        }

    def see(self, now_s: float, stem_pct: float, *, healthy: bool) -> None:
        """
        One record.

        Args:
            now_s: Its clock.

            stem_pct: Where the stem stands.

            healthy: Whether supply and loop, its second channel, are there.
        """
        if self._healthy and not healthy:
            self._cause_s = now_s
        self._healthy = healthy
        if self._rest_pct is None:
            self._rest_pct = self._last_pct = stem_pct
        if not self._moving and abs(stem_pct - self._rest_pct) > _LEAVES_PCT:
            self._left_s, self._moving = now_s, True
        if self._moving and stem_pct != self._last_pct:
            self._home_s = now_s
        elif self._moving and now_s - self._home_s > _STILL_S:
            self._moving, self._rest_pct = False, stem_pct
        self._last_pct = stem_pct


def _to_step(at_s: float) -> float:
    return round(round(at_s / STEP_S) * STEP_S, 2)
