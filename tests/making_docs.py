"""Writes what the pages take from the program: `python tests/making_docs.py`.

docs/commands.md  from the help texts of every command
README.md         the block between its two marks, from the command that the first mark names
tables of docs/   the values in rows such as | `heard.HELD_DB` | 10 |, from listen/analysis

tests/test_docs.py fails where either is stale.  Nothing else on a page is written by machine.
"""

import contextlib
import inspect
import io
import re
import textwrap
from importlib import import_module
from pathlib import Path
from typing import get_type_hints

import typer

from listen.cli import COMMANDS, main

HOME = Path(__file__).parent.parent
COMMANDS_PAGE = HOME / "docs" / "commands.md"
README = HOME / "README.md"
WIDE = 96  # letters a line of a page may have in a block of output
OUTPUT = re.compile(r"(<!-- begin: listen (.+?) -->\n)(.*?)(<!-- end -->)", re.DOTALL)
PIPE = r"\|"  # a bar inside a table's cell
VALUE = re.compile(r"^(\| `(\w+)\.([A-Z_]+)` \| )[-+.\de]+ \|", re.MULTILINE)
HEADER = """# Commands

This page is made from the help texts by `python tests/making_docs.py`. Exit status of all commands:
0 found or yes, 1 not found, no or cannot tell, 2 bad input or a fault, 130 stopped by Ctrl-C,
141 where nobody reads the output any more.
"""


def functions():
    """The function behind every command, by name."""
    return {n: getattr(import_module(f"listen.commands.{n}"), n) for n in COMMANDS}


def help_parts(name, function):
    """The paragraphs of a command's help, and the lines of its examples."""
    before, mark, after = inspect.getdoc(function).rpartition("Example:")
    assert mark, f"the help of listen {name} has no Example:"
    paragraphs = [" ".join(part.split()) for part in before.replace("\b", "").split("\n\n")]
    return [part for part in paragraphs if part], [line.strip() for line in after.splitlines()][1:]


def option_rows(function):
    """A row for each argument and option: how it is written, and what it is for."""
    hints = get_type_hints(function, include_extras=True)
    for name, parameter in inspect.signature(function).parameters.items():
        if hints[name] is typer.Context:
            continue
        kind, said = hints[name].__origin__, hints[name].__metadata__[0]
        default = parameter.default
        number = kind in (float, float | None)
        value = said.metavar or {"wanted": "INPUT"}.get(name, "NUMBER" if number else name.upper())
        if isinstance(said, typer.models.ArgumentInfo):
            written = value
        else:
            declared = [d for d in (said.default, *(said.param_decls or ())) if is_name(d)]
            names = ", ".join(declared or [f"--{name.replace('_', '-')}"])
            written = names if kind is bool else f"{names} {value}"
        text = said.help
        if default not in (None, False, "", inspect.Parameter.empty) and "[" not in text:
            text += f" Default: {default}."
        yield f"| `{written.replace('|', PIPE)}` | {text} |"


def is_name(declared):
    """Whether something declared for an option is one of its names."""
    return isinstance(declared, str) and declared.startswith("-")


def commands_page():
    """The whole of docs/commands.md."""
    parts = [HEADER]
    for name, function in functions().items():
        paragraphs, examples = help_parts(name, function)
        parts.append(f"## listen {name}\n")
        parts += [f"{textwrap.fill(text, 100)}\n" for text in paragraphs]
        parts.append("\n".join(f"    {line}" for line in examples) + "\n")
        if rows := list(option_rows(function)):
            parts.append("\n".join(["| option | what it does |", "|---|---|", *rows]) + "\n")
    return "\n".join(parts)


def output_of(words):
    """What a command prints when its output is piped, folded to the width of a page."""
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed), contextlib.chdir(HOME):
        main(words.split())
    folded = []
    for line in printed.getvalue().rstrip("\n").split("\n"):
        folded += textwrap.wrap(line, WIDE, break_long_words=False) if len(line) > WIDE else [line]
    return "\n".join(folded) + "\n"


def readme_with(output=output_of):
    """README.md with its blocks of output made anew."""

    def block(found):
        return f"{found[1]}```text\n{output(found[2])}```\n{found[4]}"

    return OUTPUT.sub(block, README.read_text("utf-8"))


def with_values(text):
    """A page with the values of constants as listen/analysis has them."""

    def row(found):
        value = getattr(import_module(f"listen.analysis.{found[2]}"), found[3])
        return f"{found[1]}{value:g} |"

    return VALUE.sub(row, text)


if __name__ == "__main__":
    for page in sorted((HOME / "docs").glob("*.md")):
        page.write_text(with_values(page.read_text("utf-8")), "utf-8")
    COMMANDS_PAGE.write_text(commands_page(), "utf-8")
    README.write_text(readme_with(), "utf-8")
