"""listen: an FM radio and a line-in as the instrument that finds a console's RF modulator."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from listen._version import VERSION as __version__

if TYPE_CHECKING:
    from listen.analysis.answer import Location
    from listen.analysis.confirm import confirm
    from listen.analysis.confirmation import Confirmation
    from listen.analysis.locate import locate
    from listen.clip import Clip
    from listen.errors import ListenError
    from listen.folder import read_folder
    from listen.radio import Radio

__all__ = [
    "Clip",
    "Confirmation",
    "ListenError",
    "Location",
    "Radio",
    "__version__",
    "confirm",
    "locate",
    "read_folder",
]

_HOMES = {
    "Clip": "listen.clip",
    "Confirmation": "listen.analysis.confirmation",
    "ListenError": "listen.errors",
    "Location": "listen.analysis.answer",
    "Radio": "listen.radio",
    "confirm": "listen.analysis.confirm",
    "locate": "listen.analysis.locate",
    "read_folder": "listen.folder",
}


def __getattr__(name: str) -> Any:  # names are fetched when first used: --version needs none
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'listen' has no attribute {name!r}")
