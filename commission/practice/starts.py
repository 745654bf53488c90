"""
Too many motor starts in a window.

Rules. A restart is a start under an unchanged command, as a top-up after cut-in; the start that obeys a command is not
counted. So many restarts are allowed in any window; the next is refused. A change of command forgets them all; time
lets the oldest drop out.
"""

from collections import deque

from commission.practice.settings import Settings


class RestartLimit:
    """
    Counts restarts in a rolling window.

    Args:
        settings: How many, and in which window; read anew at every start.
    """

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._at_s: deque[float] = deque()

    def count(self, now_s: float) -> int:
        """Restarts in the window that ends now."""
        while self._at_s and self._at_s[0] <= now_s - self._settings.starts_window_s:
            self._at_s.popleft()
        return len(self._at_s)

    def allow(self, now_s: float) -> bool:
        """Whether one more restart is allowed now; if so it is counted."""
        if self.count(now_s) >= self._settings.starts_allowed:
            return False
        self._at_s.append(now_s)
        return True

    def forget(self) -> None:
        """The command changed."""
        self._at_s.clear()
