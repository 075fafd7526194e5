"""WATCH: how a console's carrier drifts after it was switched on.

series   rounds of the same stops as offsets against time, and whether it has settled
watcher  asks for the stops, round after round, fed with sound

As with the trim's guide, nothing here opens a device or a file or reads a clock.
"""

from listen.watch.series import Round, Series, Settling
from listen.watch.watcher import Watcher

__all__ = ["Round", "Series", "Settling", "Watcher"]
