"""Which sound inputs this machine has, and which of them is meant.

What it gives
-------------
inputs         the sound inputs of this machine
choose         one of them by its number or by words of its name, or a refusal that lists them
sound_library  the sounddevice module, or the refusal that says how to install PortAudio
before         work with a sound system that may never answer, given up after a deadline

sounddevice is imported inside functions only: without PortAudio its import fails, and reading
old recordings must not need it.
"""

import atexit
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from listen.capture.hush import Hush
from listen.errors import NoInput

OPEN_S = 5.0  # opening and listing: a server that is stopped never answers
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Input:
    """A sound input: its number, its name, most channels, own rate, and whose it is."""

    number: int
    name: str
    channels: int
    default_rate_hz: float
    host: str
    is_default: bool


def inputs() -> tuple[Input, ...]:
    """The sound inputs of this machine, in the order of their numbers; perhaps none.

    Raises NoInput where PortAudio is missing, or where the sound system does not answer.
    """
    return before(OPEN_S, _list_inputs, "listing the sound inputs")


def choose(wanted: str | None, among: tuple[Input, ...] | None = None) -> Input:
    """The input meant by a number, by any words of its name, or by nothing (the default).

    wanted  "3", "usb line", or None; letters may be of either case
    among   the inputs to choose from; None asks the machine

    Raises NoInput, with the list, where none or several match.
    """
    among = inputs() if among is None else among
    if not among:
        raise NoInput(
            "this machine has no sound input: plug in a sound card with a line input, "
            "then `listen inputs` shows it"
        )
    listed = "; ".join(f"{each.number} {each.name} ({each.host})" for each in among)
    if wanted is None:
        found = [each for each in among if each.is_default] or list(among)
        if len(found) > 1:
            raise NoInput(f"no input is the default, choose one with --input: {listed}")
        return found[0]
    if wanted.strip().isdecimal():
        found = [each for each in among if each.number == int(wanted)]
    else:
        words = wanted.casefold().split()
        found = [each for each in among if words and _has(each, words)]
        exact = [each for each in found if each.name.casefold() == wanted.strip().casefold()]
        found = exact or found
    if not found:
        raise NoInput(f"no sound input is {wanted!r}, choose by number or name: {listed}")
    if len(found) > 1:
        several = ", ".join(str(each.number) for each in found)
        raise NoInput(f"{wanted!r} fits inputs {several}, give a number: {listed}")
    return found[0]


def _list_inputs() -> tuple[Input, ...]:
    sd = sound_library()
    try:
        devices, hosts = sd.query_devices(), sd.query_hostapis()
        default = sd.default.device[0]
    except Exception as why:
        raise NoInput(f"the sound system cannot list its inputs ({words_of(why)})") from why
    return tuple(
        Input(
            number,
            device["name"],
            device["max_input_channels"],
            device["default_samplerate"],
            hosts[device["hostapi"]]["name"],
            number == default,
        )
        for number, device in enumerate(devices)
        if device["max_input_channels"] > 0
    )


def sound_library() -> Any:
    """The sounddevice module.  Raises NoInput where PortAudio, which it needs, is missing."""
    try:
        import sounddevice
    except (OSError, ImportError) as why:
        remedy = {
            "linux": "install it with `sudo apt install libportaudio2`, or your system's like",
            "darwin": "install it with `brew install portaudio`",
        }.get(sys.platform, "reinstall with `pip install --force-reinstall sounddevice`")
        raise NoInput(
            f"PortAudio, through which sound is recorded, is missing: {remedy}; recordings "
            "made elsewhere can be read without it"
        ) from why
    return sounddevice


def before(deadline_s: float, work: Callable[[], T], doing: str) -> T:
    """work()'s value, or NoInput where it does not return before the deadline.

    What sound libraries print meanwhile is hushed, and for good where they do not return.

    In a thread only where a sound server can hang, on Linux; elsewhere sound must be opened by
    the thread that asks for it.
    """
    hush = Hush()
    hush.start()
    if sys.platform != "linux":
        try:
            return work()
        finally:
            hush.stop()
    outcome: list[T] = []
    failure: list[BaseException] = []

    def run() -> None:
        try:
            outcome.append(work())
        except BaseException as why:
            failure.append(why)

    worker = threading.Thread(target=run, daemon=True)
    worker.start()
    worker.join(deadline_s)
    if not worker.is_alive():
        hush.stop()
    if failure:
        raise failure[0]
    if not outcome:
        do_not_wait_at_exit()
        raise NoInput(
            f"the sound system does not answer: {doing} took over {deadline_s:g} s; restart it, "
            "or unplug the sound card and plug it in again"
        )
    return outcome[0]


def do_not_wait_at_exit() -> None:
    """Keep a hung sound system from holding the whole process at its exit."""
    module = sys.modules.get("sounddevice")
    handler = getattr(module, "_exit_handler", None)
    if handler is not None:
        atexit.unregister(handler)


def _has(each: Input, words: list[str]) -> bool:
    text = f"{each.name} {each.host}".casefold()
    return all(word in text for word in words)


def words_of(why: Exception | None) -> str:
    """An error of another library as a clause: its first line, or its name."""
    return str(why).split("\n")[0].strip() or type(why).__name__
