"""What a live sweep knows so far: each stop measured once, all of them weighed anew."""

from collections.abc import Sequence
from pathlib import Path

from listen.clip import Clip
from listen.radio import Radio
from listen.sweep import Outlook


class Weighing:
    """The measures of a sweep's stops, and what they leave open.

    radio     what is known of the radio
    mains_hz  the mains rates that may be on this bench; none: both
    plans     the channel plans to consider; None: all
    """

    def __init__(
        self,
        radio: Radio,
        mains_hz: Sequence[float] = (),
        plans: Sequence[str] | None = None,
    ) -> None:
        from listen.analysis.measures import Measures

        self._radio = radio
        self._mains_hz = tuple(mains_hz) or (50.0, 60.0)
        self._plans = plans
        self._stops: list[Measures] = []

    @classmethod
    def of_folder(cls, folder: Path) -> "Weighing":
        """Of a sweep that is gone on with: what its folder holds, measured."""
        from listen.folder import read_folder
        from listen.terminal import followed

        sweep = read_folder(folder)
        begun = cls(sweep.radio, sweep.mains_hz, sweep.plans)
        for clip in followed(sweep.clips(), len(sweep.stops), "Measuring the stops"):
            begun.add(clip)
        return begun

    def add(self, clip: Clip) -> None:
        """Measure one more stop; its samples are not kept."""
        from listen.analysis.measures import measure

        self._stops.append(measure(clip))

    def look(self) -> Outlook:
        """What was heard so far; there must be a stop."""
        from listen.analysis.outlook import outlook

        return outlook(tuple(self._stops), self._radio, self._mains_hz, self._plans)
