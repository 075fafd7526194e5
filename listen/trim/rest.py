"""Whether the hand at the goal rests, so that what is left can be measured without a key.

It rests where a carrier is held and the meter has stood still for a time.  After a result the same
would come again, so then the meter must have moved first; or a minute must have passed, since on
the flat top of what a radio holds somebody may have turned without the meter telling.  What stood
at the goal before anything was turned may be a station: it is not measured until the meter moved.

Conventions
-----------
Times are seconds of sound.  Quieting is dB below the roar, as words are about it.
"""

MOVED_DB = 3.0  # so much quieter or noisier on the goal's stop, somebody has turned
REST_S = 60.0  # held for so long, it is measured in any case


class Rest:
    """Follows the meter on the goal's stop.

    still_s  for how long the meter must stand still; None: nothing is measured without a key
    """

    def __init__(self, still_s: float | None) -> None:
        self.still_s = still_s
        self._waits = False  # for the meter to move, since a result stands
        self._stood_before = False
        self._db: float | None = None  # where the meter stands
        self._since_s = 0.0

    def measured(self) -> None:
        """A result stands, and the radio goes back to the goal's stop."""
        self._waits, self._db = True, None

    def stood_before(self) -> None:
        """What is held was held before anything was turned."""
        self._stood_before = True

    def gap(self) -> None:
        """The sound was not whole: the meter is to be seen still anew."""
        self._db = None

    def saw(self, now_s: float, quieting_db: float | None, heard_s: float) -> None:
        """One reading on the goal's stop, which has been heard for heard_s."""
        if quieting_db is None:
            return
        if self._db is None:
            self._db, self._since_s = quieting_db, now_s
        elif abs(quieting_db - self._db) >= MOVED_DB:
            self._db, self._since_s = quieting_db, now_s
            self._waits = self._stood_before = False
        if heard_s >= REST_S:
            self._waits = False

    def is_due(self, now_s: float, held_since_s: float) -> bool:
        """Whether it is to be measured now."""
        if self.still_s is None or self._waits or self._stood_before:
            return False
        held_s = now_s - held_since_s
        still_s = now_s - max(self._since_s, held_since_s)
        return still_s >= self.still_s or held_s >= max(REST_S, self.still_s)
