"""How one stop of a live sweep is heard: the settling left out, trouble said at once.

A recording that clips, or that holds nothing, is offered to be taken again or left out before
it is kept.  Where no hand is free it is taken again once by itself, then kept as it is.
Sound that was lost on its way is always taken again, up to three times in all.
"""

from collections.abc import Callable
from datetime import datetime

from listen.analysis.linecheck import SILENCE_DBFS, channel_level
from listen.capture import LineIn
from listen.clip import Clip, Console
from listen.commands.screen import OnBlock, Samples, recording, sentence
from listen.errors import SamplesLost

TRIES = 3


class Ears:
    """Hears stops through an open line-in.

    seconds    length of each recording
    settle_s   left out before it: radios mute for a moment after a step
    read_line  asks what to do about trouble; None where no hand is free
    """

    def __init__(
        self,
        line: LineIn,
        seconds: float,
        settle_s: float,
        read_line: Callable[[str], str] | None,
    ) -> None:
        self._line = line
        self._seconds = seconds
        self._settle_s = settle_s
        self._read_line = read_line
        self._accepted = ""  # the trouble last kept on purpose: not asked about again

    def hear(self, dial_mhz: float, console: Console) -> Clip | None:
        """The clip of a stop, or None where the person leaves it out.

        Raises InputLost where the input goes away, SamplesLost where it keeps losing sound.
        """
        retaken = False
        while True:
            at = datetime.now().astimezone().replace(microsecond=0)
            samples = self._take(f"{dial_mhz:g} MHz")
            level_dbfs, peak_db, trouble = heard_level(samples, self._line.rate_hz)
            if level_dbfs < SILENCE_DBFS:
                sentence("  recorded: silence")
            else:
                sentence(f"  recorded: level {level_dbfs:.0f} dBFS, peak {peak_db:.0f} dB")
            if not trouble:
                self._accepted = ""
            else:
                sentence(f"  {trouble}")
            answer = self._ask(trouble, retaken)
            if answer == "s":
                return None
            if answer != "r":
                return Clip(dial_mhz, self._line.rate_hz, samples, console, at=at)
            retaken = True

    def _ask(self, trouble: str, retaken: bool) -> str:
        """What to do with a recording: keep "", take again "r", leave out "s"."""
        if not trouble or trouble == self._accepted:
            return ""
        if self._read_line is None:
            if retaken:
                self._accepted = trouble
                return ""
            sentence("  Taking it again.")
            return "r"
        while True:
            try:
                typed = self._read_line(
                    "r Enter to take it again, s Enter to skip, Enter to keep: "
                )
            except EOFError:
                typed = ""
            typed = typed.strip().lower()
            if typed in ("", "r", "s"):
                self._accepted = trouble if typed == "" else ""
                return typed

    def _take(self, doing: str) -> Samples:
        for tries_left in range(TRIES - 1, -1, -1):
            self._line.skip(self._settle_s)
            try:
                with recording(self._seconds, doing) as on_block:
                    return self._record(on_block)
            except SamplesLost:
                if not tries_left:
                    raise
                sentence("  Some of the sound was lost on its way here.  Taking it again.")
        raise AssertionError("TRIES is at least one")

    def _record(self, on_block: OnBlock | None) -> Samples:
        return self._line.record(self._seconds, on_block)


def heard_level(samples: Samples, rate_hz: int) -> tuple[float, float, str]:
    """Level in dBFS and peak in dB of the loudest channel, and the trouble with it, or ""."""
    channels = [channel_level(column.astype(float), rate_hz) for column in samples.T]
    level_dbfs = max(channel.rms_dbfs for channel in channels)
    peak_db = max(channel.peak_db for channel in channels)
    trouble = ""
    if any(channel.flattened_per_s > 0 for channel in channels):
        trouble = "It clips: turn the radio's volume or the input gain down."
    elif level_dbfs < SILENCE_DBFS:
        trouble = (
            "Nothing came in: is the radio on and its cable in the line input? (Some radios "
            "mute where nothing is received; then keep it.)"
        )
    return level_dbfs, peak_db, trouble
