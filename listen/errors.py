"""Every refusal: str() of one is a whole sentence for a person.

A refusal says what came, what was needed and what to do.  This module imports
nothing, so that every other one may import it.
"""


class ListenError(Exception):
    """The base of every refusal; the command line prints it and exits with 2."""


class BadTable(ListenError, ValueError):
    """A published table in listen/data has a row that cannot be read."""


class UnknownChannel(ListenError, LookupError):
    """No plan, or no channel of it, has the name asked for."""


class BadDial(ListenError, ValueError):
    """A dial position, band or frequency that no radio could show."""


class BadClip(ListenError, ValueError):
    """What is not a recording of a stop: its samples, rate, dial position or switch."""


class BadFolder(ListenError, ValueError):
    """A sweep folder, its stops.csv or its sweep.toml is broken as such."""


class CannotRead(ListenError, OSError):
    """A file that cannot be opened or is not what its name says."""


class CannotWrite(ListenError, OSError):
    """A file or folder that cannot be written."""


class NoInput(ListenError, OSError):
    """No sound input to record from, or none with the name asked for."""


class InputLost(ListenError, OSError):
    """The sound input vanished, stalled or fell behind while it was recorded."""


class SamplesLost(InputLost):
    """Some of the sound never arrived, but the input is still there: take the stop again."""


class TunerFailed(ListenError, RuntimeError):
    """The user's own tuning command could not be run or did not succeed."""
