"""What is wrong with a command line, as one plain sentence: what came, what was needed.

The library that reads the options words its complaints for programmers.  What is wrong is told
here by its exceptions' names and fields, and where these do not tell, by a few of its words; a
complaint that is none of those known is passed on as it is.
"""

from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from difflib import get_close_matches
from typing import Any

from listen.channels import by_name, plan
from listen.errors import UnknownChannel

UNITS = {"KHZ": "kHz", "MHZ": "MHz", "S": "seconds", "MIN": "minutes", "STOPS": "stops"}
ARGUMENTS = {
    "folder": "a sweep folder",
    "before": "the sweep folder from before the move",
    "after": "the sweep folder from after the move",
    "take": "a long recording",
    "marks": "the time marks of the recording",
}
BEHIND = {"after": "BEFORE", "marks": "TAKE"}  # what goes before an argument; else the command
OPTIONS_OF_NAMES: dict[str, tuple[str, Callable[[str], object]]] = {  # of a channel, or of a plan
    "trim": ("--to", by_name),
    "destinations": ("--set", plan),
    "locate": ("--plan", plan),
    "sweep": ("--plan", plan),
}
ALIKE = 0.7  # of a mistyped command: less is another word


def plain(why: Any, words: Sequence[str], commands: Iterable[str]) -> str:
    """The sentence.

    why       the library's exception
    words     the command line, without the program's name
    commands  those that there are
    """
    kind, said = type(why).__name__, str(why.format_message())
    command = words[0] if words and words[0] in set(commands) else ""
    if kind == "MissingParameter" and why.param is not None:
        return _missing(why.param, command)
    if kind == "BadParameter" and why.param is not None:
        return _bad_number(why.param, words, said)
    if kind == "NoSuchOption":
        near = " or ".join(why.possibilities or ())
        meant = f": did you mean {near}?" if near and near != "--help" else ""
        return f"{command or 'listen'} has no option {why.option_name}{meant}"
    if kind == "BadOptionUsage":
        if "not take" in said:
            return f"{why.option_name} came with a value, and takes none: leave the value out"
        return f"{why.option_name} came with nothing after it: give its value, or leave it out"
    if "extra argument" in said:
        more = said.rpartition("(")[2].rstrip(").") or "more words"
        return _meant(command, more.split()) or (
            f"{command} came with too many words ({more}): give one thing at a time, and put a "
            "name with spaces in quotes"
        )
    if "No such command" in said and words:
        near = " or ".join(get_close_matches(words[0], list(commands), 2, ALIKE))
        meant = f"did you mean {near}?" if near else f"there are {', '.join(commands)}"
        return f"there is no command {words[0]}: {meant}"
    return said


def _meant(command: str, more: Sequence[str]) -> str:
    """The option that a surplus word belongs to, as a sentence; empty where none is known."""
    option, names = OPTIONS_OF_NAMES.get(command, ("", plan))
    for word in more if option else ():
        with suppress(UnknownChannel):
            names(word)
            return f"{word} came without its option: write {option} {word}"
    return ""


def _missing(param: Any, command: str) -> str:
    what = ARGUMENTS.get(param.name, f"a {param.name}")
    if command == "sweep":
        what = "a folder to write the sweep to"
    behind = BEHIND.get(param.name, command)
    return f"{command} needs {what} ({param.name.upper()}), and none came: name it after {behind}"


def _bad_number(param: Any, words: Sequence[str], said: str) -> str:
    names = [name for name in param.opts if name.startswith("-")]
    name = next((name for name in names for word in words if word.split("=")[0] == name), "")
    if not name or ("valid number" not in said and "valid integer" not in said):
        return said
    place = max(n for n, word in enumerate(words) if word.split("=")[0] == name)  # the last counts
    _, given, value = words[place].partition("=")
    if not given:
        value = words[place + 1] if place + 1 < len(words) else ""
    value = value or "with nothing"
    metavar = str(param.metavar or "")
    if "|" in metavar:
        return f"{name} {value} came: give {metavar.replace('|', ' or ')}"
    whole = "whole " if "integer" in said else ""
    unit = UNITS.get(metavar, "")
    return f"{name} {value} came: give a {whole}number{f' of {unit}' if unit else ''}"
