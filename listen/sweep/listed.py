"""A planner that visits a list, then the stops where the console's switch settles most."""

from collections.abc import Callable, Sequence

from listen.sweep.reasons import OFF_AGAIN, OFF_FIRST
from listen.sweep.walk import Ask, Visited, key

MOST_OFF_CHECKS = 3  # more would tire a person, and seldom settle anything


class ListPlanner:
    """Visits every stop of a list once, then asks for off checks until the switch has spoken.

    An off check is a stop heard before, heard again with the console off.  What did not
    change there was a station, and then another stop may be worth the switch: so after each
    check it is asked again.  It ends where switch_at gives None or a stop that was checked
    (or left out) already, and after MOST_OFF_CHECKS.

    stops      dial positions in the order to visit them, MHz
    why        position to the reason for it
    switch_at  the dial position where the console's switch would settle most in view of all
               that was kept, or None; asked once the list is done, and after each off check
    at_most    stops after which the walk is over in any case, off checks counted
    """

    def __init__(
        self,
        stops: Sequence[float],
        why: Callable[[float], str],
        switch_at: Callable[[], float | None],
        at_most: int | None = None,
    ) -> None:
        self._stops = tuple(stops)
        self._why = why
        self._switch_at = switch_at
        self._at_most = at_most

    def next_stop(self, so_far: Sequence[Visited]) -> Ask | None:
        """The first stop not done with; after the last, the next off check."""
        if self._at_most is not None and len(so_far) >= self._at_most:
            return None
        seen = {key(visit.dial_mhz) for visit in so_far if visit.console == "on"}
        left = [stop for stop in self._stops if key(stop) not in seen]
        if left:
            return Ask(left[0], "on", self._why(left[0]), len(left))
        checked = {key(visit.dial_mhz) for visit in so_far if visit.console == "off"}
        if len(checked) >= MOST_OFF_CHECKS:
            return None
        dial_mhz = self._switch_at()
        if dial_mhz is None or key(dial_mhz) in checked:
            return None
        return Ask(dial_mhz, "off", OFF_AGAIN if checked else OFF_FIRST)
