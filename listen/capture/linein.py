"""An open line-in: arrays of samples, and the truth about whether they are whole.

Conventions
-----------
Samples are float32, shape (n, channels), one or two channels, full scale ±1.0.  Times are
seconds, rates samples a second.  48,000 is asked for; another rate is taken only where that
one is refused.

How an input is lost, and how that is noticed
---------------------------------------------
A sound system that dies, stops or drops samples raises nothing and sets no flag on most
machines.  So three things are watched here: the stream says that it has finished (vanished);
no block comes for a while (stalled); fewer frames came than the clock says (gaps).  Closing a
stream whose sound system has stopped can take half a minute, so it is done in a thread that
is left behind after a deadline.
"""

import contextlib
import math
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from types import TracebackType
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from listen.capture.devices import (
    OPEN_S,
    Input,
    before,
    do_not_wait_at_exit,
    sound_library,
    words_of,
)
from listen.capture.hush import Hush
from listen.capture.pace import PATIENCE_S, Pace
from listen.errors import InputLost, NoInput, SamplesLost

RATE_HZ = 48_000
OTHER_RATES_HZ = (44_100, 96_000, 32_000, 16_000, 8_000)  # tried where 48,000 is refused
FIRST_BLOCK_S = 3.0  # some sound servers take two seconds to deliver their first block
STALL_S = 1.0  # after that, this long without a block is a stall
CLOSE_S = 2.0
GAP_S = 0.2  # of sound that a running meter misses; seen on a busy machine without loss: 0.04
KEPT_S = 30.0  # blocks that nobody has taken yet; older ones fall off

Samples = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Block:
    """Samples as they came: their first frame's number, the clock at arrival, overflow.

    lost  whether some sound just before them never reached us; told by `blocks`
    """

    samples: Samples
    first_frame: int
    arrived_s: float
    overflowed: bool
    lost: bool = False


class LineIn:
    """An open sound input, as a context manager.

    source        the input to open
    block_s       how much sound a block holds, seconds (20 ms for a live meter)
    low_delay     ask the sound system for little delay rather than for safety
    open_stream   for tests: what opens a stream; called as sounddevice.InputStream would be
    clock         for tests: seconds that only go forward

    Raises NoInput where it cannot be opened.
    """

    def __init__(
        self,
        source: Input,
        *,
        block_s: float = 0.05,
        low_delay: bool = False,
        open_stream: Callable[..., Any] | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.source = source
        self.channels = max(1, min(2, source.channels))
        self.rate_hz = 0
        self._block_s = block_s
        self._latency = "low" if low_delay else "high"
        self._open_stream = open_stream
        self._clock = clock
        self._stream: Any = None
        self._finished = False
        self._frames = 0
        self._heard_any = False
        self._arrived = threading.Condition()
        self._blocks: deque[Block] = deque(maxlen=math.ceil(KEPT_S / block_s))
        self._hush = Hush()

    def __enter__(self) -> Self:
        """Open the input and start it."""
        self._hush.start()
        try:
            self._stream = before(OPEN_S, self._open, f"opening {self.source.name}")
        except BaseException:
            self._hush.stop()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it; return within CLOSE_S even where the sound system does not."""
        stream, self._stream = self._stream, None
        closer = threading.Thread(target=_abort_and_close, args=(stream,), daemon=True)
        closer.start()
        closer.join(CLOSE_S)
        if closer.is_alive():
            do_not_wait_at_exit()  # and keep its chatter hushed
        else:
            self._hush.stop()

    def skip(self, duration_s: float) -> None:
        """Leave out what is waiting and the next duration_s seconds of sound.

        Raises InputLost where the input vanishes or stalls.
        """
        with self._arrived:
            self._blocks.clear()
        left = round(duration_s * self.rate_hz)
        while left > 0:
            left -= self._next_block().samples.shape[0]

    def record(
        self, duration_s: float, on_block: Callable[[Samples, float], None] | None = None
    ) -> Samples:
        """The next duration_s seconds, whole: shape (n, channels).

        on_block  called with each block and the seconds recorded by then

        Raises InputLost where the input vanishes or stalls, SamplesLost where some of the
        sound did not reach us: the stop can be taken again.
        """
        wanted = max(1, round(duration_s * self.rate_hz))
        taken: list[Samples] = []
        have, follows = 0, None
        pace = Pace(self.rate_hz)
        while have < wanted:
            block = self._next_block()
            self._refuse_gap(block, follows)
            follows = block.first_frame + block.samples.shape[0]
            pace.saw(follows, block.arrived_s)
            taken.append(block.samples)
            have += block.samples.shape[0]
            if on_block is not None:
                on_block(block.samples, min(have, wanted) / self.rate_hz)
        self._wait_until_caught_up(pace)
        return np.concatenate(taken)[:wanted]

    def blocks(self) -> Iterator[Block]:
        """Every block from now on as it comes, without end, with the clock and what was lost.

        Sound that is merely late is not lost: it has a second and a half to catch up.  What is
        missing by the clock alone counts from GAP_S: over minutes a sound server moves its delay
        by some tens of milliseconds, and a meter that goes on does not mind so much.

        Raises InputLost where the input vanishes or stalls.
        """
        self.skip(0)
        follows: int | None = None
        pace, behind_since_s = Pace(self.rate_hz), math.inf
        while True:
            block = self._next_block()
            gap = block.overflowed or (follows is not None and block.first_frame != follows)
            follows = block.first_frame + block.samples.shape[0]
            pace.saw(follows, block.arrived_s)
            behind = pace.behind_s() > GAP_S
            behind_since_s = min(behind_since_s, block.arrived_s) if behind else math.inf
            if gap or block.arrived_s - behind_since_s > PATIENCE_S:
                gap, behind_since_s = True, math.inf
                pace = Pace(self.rate_hz)
                pace.saw(follows, block.arrived_s)
            yield replace(block, lost=gap)

    def _open(self) -> Any:
        opener = self._open_stream or sound_library().InputStream
        rates_hz = (RATE_HZ, round(self.source.default_rate_hz), *OTHER_RATES_HZ)
        why: Exception | None = None
        for rate_hz in dict.fromkeys(rate for rate in rates_hz if rate > 0):
            try:
                stream = opener(
                    device=self.source.number,
                    samplerate=rate_hz,
                    channels=self.channels,
                    dtype="float32",
                    blocksize=round(self._block_s * rate_hz),
                    latency=self._latency,
                    callback=self._on_block,
                    finished_callback=self._on_finished,
                )
                self.rate_hz = rate_hz
                stream.start()
                return stream
            except Exception as error:  # PortAudioError cannot be named without the import
                why = why or error
        raise NoInput(
            f"{self.source.name} cannot be opened ({words_of(why)}): see that no other program "
            "holds it, or choose another with --input"
        ) from why

    def _on_block(self, samples: Samples, frames: int, when: object, status: Any) -> None:
        with self._arrived:
            overflowed = bool(status.input_overflow)
            self._blocks.append(Block(samples.copy(), self._frames, self._clock(), overflowed))
            self._frames += frames
            self._arrived.notify_all()

    def _on_finished(self) -> None:
        with self._arrived:
            self._finished = True
            self._arrived.notify_all()

    def _next_block(self) -> Block:
        """The oldest block not yet taken; waits for it.  Raises InputLost.

        The patience is cut in four, and each quarter must pass in vain: a process that was
        itself stopped for a while wakes to one lapsed wait, and then finds its blocks.
        """
        patience_s = STALL_S if self._heard_any else FIRST_BLOCK_S
        quarters = 4
        with self._arrived:
            while not self._blocks:
                if self._finished or not self._is_active():
                    raise InputLost(
                        f"the sound input {self.source.name} went away: see that it is plugged "
                        "in and that the sound system runs, then go on"
                    )
                if not quarters:
                    raise InputLost(
                        f"the sound input {self.source.name} has stalled: no sound for "
                        f"{patience_s:g} s; see that it is plugged in and not suspended or "
                        "held by another program, then go on"
                    )
                if not self._arrived.wait(patience_s / 4):
                    quarters -= 1
            self._heard_any = True
            return self._blocks.popleft()

    def _is_active(self) -> bool:
        try:
            return bool(self._stream.active)
        except Exception:  # a stream that cannot even answer is not active
            return False

    def _refuse_gap(self, block: Block, follows: int | None) -> None:
        if block.overflowed or (follows is not None and block.first_frame != follows):
            raise SamplesLost(
                f"the sound input {self.source.name} ran over and some sound was lost: take "
                "this stop again, with less else running on this machine"
            )

    def _wait_until_caught_up(self, pace: Pace) -> None:
        """Late sound arrives in the end; lost sound does not.  Raises SamplesLost."""
        while pace.is_behind() and not pace.gave_up():
            block = self._next_block()
            pace.saw(block.first_frame + block.samples.shape[0], block.arrived_s)
        if pace.is_behind():
            raise SamplesLost(
                f"{1000 * pace.behind_s():.0f} ms of sound from {self.source.name} never "
                "arrived: take this stop again, with less else running on this machine"
            )


def _abort_and_close(stream: Any) -> None:
    with contextlib.suppress(Exception):
        stream.abort()
    with contextlib.suppress(Exception):
        stream.close()
