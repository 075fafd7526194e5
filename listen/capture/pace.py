"""Did all the sound arrive?  Frames delivered against the clock.

Sound systems drop samples without a flag.  A block's lag is the clock at its arrival minus
the time that the frames delivered so far should have taken.  Blocks come late and in bursts,
so a single lag says nothing; but late sound catches up, and lost sound never does.  So the
least lag of the last moments is held against the least lag ever seen: where the one stays
above the other, sound is missing, by the difference.

It knows nothing of devices or threads.
"""

from collections import deque

LOST_S = 0.025  # least loss called one; on a busy machine the least lag wandered by 10 ms
RECENT_S = 0.3  # the last moments: longer than a burst of blocks
PATIENCE_S = 1.5  # for late sound to catch up
DRIFT = 5e-4  # a sound card's clock may differ from the machine's by this share


class Pace:
    """Frames against the clock, over one recording."""

    def __init__(self, rate_hz: int) -> None:
        self._rate_hz = rate_hz
        self._least_s = float("inf")
        self._last_s: float | None = None
        self._recent: deque[tuple[float, float]] = deque()  # (arrival, lag)
        self._asked_s: float | None = None

    def saw(self, frames_so_far: int, arrived_s: float) -> None:
        """Note that frames_so_far had been delivered when the clock stood at arrived_s."""
        lag_s = arrived_s - frames_so_far / self._rate_hz
        since_s = 0.0 if self._last_s is None else arrived_s - self._last_s
        self._least_s = min(self._least_s + DRIFT * since_s, lag_s)
        self._last_s = arrived_s
        self._recent.append((arrived_s, lag_s))
        while self._recent[0][0] < arrived_s - RECENT_S:
            self._recent.popleft()

    def behind_s(self) -> float:
        """How much sound is missing at present, seconds; late sound counts until it comes."""
        if not self._recent:
            return 0.0
        return min(lag_s for _, lag_s in self._recent) - self._least_s

    def is_behind(self) -> bool:
        """Whether more is missing than jitter explains."""
        return self.behind_s() > LOST_S

    def gave_up(self) -> bool:
        """Whether late sound has had its time to catch up, counted from the first asking."""
        if self._last_s is None:
            return True
        if self._asked_s is None:
            self._asked_s = self._last_s
        return self._last_s - self._asked_s > PATIENCE_S
