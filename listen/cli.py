"""The command line: every command by name, every refusal as plain lines and exit status 2.

The commands themselves live in listen/commands, one thin module each: read, call, print.
Exit status: 0 found or yes, 1 not found, no or cannot tell, 2 bad input or a fault, 130
stopped by Ctrl-C.  Where nobody reads the output any more BrokenPipeError is raised, of which
listen/__main__.py makes 141.
"""

import sys
from collections.abc import Callable, Iterable
from errno import ENAMETOOLONG
from functools import wraps
from importlib import import_module
from typing import Any

import typer

from listen._version import VERSION
from listen.errors import ListenError

HELP = """Find where an old console's RF modulator sits, with an FM radio and a line-in.

\b
First try:  listen demo
Then:       listen inputs, listen check, listen sweep FOLDER
Recordings: listen locate FOLDER
"""

# In the order of the job at the bench, each with the few words that the list of them has room for.
COMMANDS = {
    "demo": "the whole job on a simulated bench",
    "inputs": "the sound inputs of this machine",
    "check": "whether the line-in is fit for a sweep",
    "sweep": "lead along the dial and record",
    "split": "a sweep folder of one long recording",
    "radio": "learn the radio from the stations in a sweep",
    "locate": "where the console is, and on which channel",
    "destinations": "which channels are worth moving it to",
    "trim": "guide the trimmer, live, onto a channel",
    "confirm": "whether it moved, and how far",
    "watch": "how it drifts after switch-on",
    "channels": "look up television channels",
}

# Typer carries its own copy of the library that its usage errors come from.
UsageError: type[Exception] = typer.BadParameter.__mro__[1]


class Stopped(Exception):
    """Ctrl-C in a command that has not said so itself."""


def _told(command: Callable[..., None]) -> Callable[..., None]:
    """The command, its Ctrl-C as Stopped: typer makes of it an exit that nobody is told of."""

    @wraps(command)
    def run(*words: object, **options: object) -> None:
        try:
            command(*words, **options)
        except KeyboardInterrupt as why:
            raise Stopped from why

    return run


def application(names: Iterable[str] = COMMANDS) -> typer.Typer:
    """The application with these commands; only their modules are imported."""
    app = typer.Typer(
        help=HELP,
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )

    @app.callback()
    def listen(
        version: bool = typer.Option(False, "--version", is_eager=True, help="Print the version."),
    ) -> None:
        if version:
            print(f"listen {VERSION}")
            raise typer.Exit

    listen.__doc__ = HELP
    for name in names:
        app.command(name, short_help=COMMANDS[name])(
            _told(getattr(import_module(f"listen.commands.{name}"), name))
        )
    return app


def _pointed(words: list[str], run: Any) -> list[str]:
    """The words with points for the decimal commas of a known command's numbers."""
    if words[0] not in COMMANDS or not any("," in word for word in words):
        return words
    from listen.commands.decimals import pointed

    command = getattr(import_module(f"listen.commands.{words[0]}"), words[0])
    return pointed(words, command, run.commands[words[0]].params)


def main(argv: list[str] | None = None) -> int:
    """Run one command and give its exit status.

    Raises BrokenPipeError where nobody reads the output any more.
    """
    words = (sys.argv[1:] if argv is None else argv) or ["--help"]
    # A known command needs no other's module: importing all would cost more than the answer.
    names: Iterable[str] = (words[0],) if words[0] in COMMANDS else COMMANDS
    run = typer.main.get_command(application(names))
    try:
        status = run.main(_pointed(words, run), prog_name="listen", standalone_mode=False)
    except ListenError as why:
        print(f"listen: {why}", file=sys.stderr)
        return 2
    except UsageError as why:
        from listen.commands.usage import plain

        words_used = " ".join(["listen", *(w for w in words[:1] if w in COMMANDS)])
        print(f"listen: {plain(why, words, COMMANDS)}", file=sys.stderr)
        print(f"Try:    {words_used} --help", file=sys.stderr)
        return 2
    except OSError as why:
        if why.errno != ENAMETOOLONG:
            raise
        print(
            f"listen: the name {str(why.filename)[:40]}... is longer than this system takes: give "
            "a shorter one",
            file=sys.stderr,
        )
        return 2
    except typer.Exit as left:
        return left.exit_code
    except (Stopped, KeyboardInterrupt, typer.Abort):
        print("\nlisten: stopped", file=sys.stderr)
        return 130
    except SystemExit as why:
        # The reader of our output, `head` say, has gone; the library makes that an exit of 1.
        if isinstance(why.__context__, BrokenPipeError):
            raise why.__context__ from None
        raise
    return int(status or 0)
