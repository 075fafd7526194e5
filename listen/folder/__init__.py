"""The sweep folder on disk: a forgiving reader and a crash-safe writer.

docs/sweep-folder.md is the format in full.  Reading changes nothing in a folder; writing
never touches a recording again once it is there.

What it gives
-------------
read_folder    a SweepFolder: its stops in the order of the walk, what is known of the radio,
               what had to be assumed, and the stops' recordings one by one as clips
read_settings  what a folder says of its radio, mains and plans
FolderWriter   makes such a folder stop by stop, each on disk before the next, and resumes one
read_profile, write_profile  what was learned of a radio, as a file of its own
keep_memory    makes a command that reads many recordings quicker
"""

from listen.folder.audio import keep_memory
from listen.folder.reader import SweepFolder, read_folder
from listen.folder.settings import (
    SweepSettings,
    read_profile,
    read_settings,
    write_profile,
)
from listen.folder.table import Stop
from listen.folder.writer import FolderWriter

__all__ = [
    "FolderWriter",
    "Stop",
    "SweepFolder",
    "SweepSettings",
    "keep_memory",
    "read_folder",
    "read_profile",
    "read_settings",
    "write_profile",
]
