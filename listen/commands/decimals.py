"""Decimal commas on a command line: a number with one is the same number with a point.

What a frequency allows (listen/channels/frequency.py) every option with a number of its own kind
allows: `--every 2,5` is `--every 2.5`.  Only the values of such options are changed, and only
where the value is one number.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from typing import Any, get_args, get_type_hints

_WITH_COMMA = re.compile(r"\s*[-+]?(?:\d+,\d*|,\d+)(?:e[-+]?\d+)?\s*", re.IGNORECASE)


def pointed(
    words: Sequence[str], command: Callable[..., None], parameters: Iterable[Any]
) -> list[str]:
    """The same words, with points for the decimal commas.

    words       the command line, without the program's name
    command     the function of the command that they name
    parameters  its options as the library knows them: their names tell which takes a number
    """
    kinds = get_type_hints(command)
    takers = {
        option
        for one in parameters
        if kinds.get(one.name) is float or float in get_args(kinds.get(one.name))
        for option in one.opts
    }
    said: list[str] = []
    for place, word in enumerate(words):
        if said and words[place - 1] in takers:
            word = _with_point(word)
        name, given, value = word.partition("=")
        said.append(f"{name}={_with_point(value)}" if given and name in takers else word)
    return said


def _with_point(word: str) -> str:
    return word.replace(",", ".") if _WITH_COMMA.fullmatch(word) else word
