"""Many pieces of work on several processes, each given back as it is done."""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from multiprocessing import get_context
from typing import TypeVar

ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

Task = TypeVar("Task")
Done = TypeVar("Done")


def each(work: Callable[[Task], Done], todo: Sequence[Task], workers: int) -> Iterator[Done]:
    """Do them all, in any order; with more than one worker, in processes of their own.

    work  a function of a module, since the processes look it up by its name
    """
    if workers == 1:
        yield from map(work, todo)
        return
    for name in ONE_THREAD:
        os.environ[name] = "1"  # taken over by the workers
    with ProcessPoolExecutor(workers, get_context("spawn"), _ignore_ctrl_c) as pool:
        waiting = {pool.submit(work, task) for task in todo}
        try:
            while waiting:
                ready, waiting = wait(waiting, return_when=FIRST_COMPLETED)
                for future in ready:
                    yield future.result()
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def _ignore_ctrl_c() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the bench in hand is finished, or dropped
