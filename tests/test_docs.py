"""The pages say what is true: commands, options, links, outputs and Python, as they stand.

A page that is stale is made anew by `python tests/making_docs.py`, or mended by hand.
"""

import importlib.util
import os
import re
import shlex
import subprocess
import sys
from typing import get_args

import pytest
import typer
from making_docs import (
    COMMANDS_PAGE,
    HOME,
    OUTPUT,
    README,
    VALUE,
    commands_page,
    functions,
    help_parts,
    output_of,
    with_values,
)

from listen.analysis.answer import Heard, HeardAs, Location, StopAnswer
from listen.cli import COMMANDS, application

DOCS = HOME / "docs"
PAGES = [README, HOME / "DEVELOPERS.md", *sorted(DOCS.glob("*.md")), HOME / "samples" / "README.md"]
LINK = re.compile(r"\]\(([^)\s]+)\)")
FENCED = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
MODULE = re.compile(r"`?python -m (listen(?:\.\w+)+)")


def page_id(page):
    return str(page.relative_to(HOME))


def text_of(page):
    return page.read_text("utf-8")


def slug(heading):
    """The name by which a heading is linked: lower case, hyphens for spaces, no signs."""
    return re.sub(r"[^\w\- ]", "", heading.strip().lower()).replace(" ", "-")


def headings(page):
    plain = FENCED.sub("", text_of(page))
    return {slug(line.lstrip("#")) for line in plain.splitlines() if line.startswith("#")}


def command_lines(page):
    """What a person would type after `listen`: its indented lines, and inline."""
    for line in text_of(page).splitlines():
        found = re.match(r" {4}listen ([a-z-].*)", line)
        if found:
            yield re.split(r" {2,}", found[1].strip())[0]
    yield from re.findall(r"`listen ([a-z][^`]*)`", FENCED.sub("", text_of(page)))


def run_python(code, where, **more):
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        env={**os.environ, "PYTHONPATH": str(HOME), **more},
        cwd=where,
        capture_output=True,
        text=True,
        check=False,
    )


# Pages and links


def test_there_are_pages():
    assert len(PAGES) > 12
    assert all(page.is_file() for page in PAGES)


@pytest.mark.parametrize("page", PAGES, ids=page_id)
def test_links_lead_somewhere(page):
    for target in LINK.findall(FENCED.sub("", text_of(page))):
        if target.startswith(("https://", "http://")):
            continue
        file, _, anchor = target.partition("#")
        there = (page.parent / file).resolve() if file else page
        assert there.exists(), f"{target} leads nowhere"
        assert there.is_relative_to(HOME), f"{target} leads out of the tree"
        if anchor:
            assert anchor in headings(there), f"{target}: no such heading"


def test_every_page_is_linked_from_the_first_one():
    linked = {(HOME / t.partition("#")[0]).resolve() for t in LINK.findall(text_of(README))}
    for page in PAGES[1:]:
        assert page.resolve() in linked, f"{page_id(page)} is not linked from README.md"


@pytest.mark.parametrize("page", PAGES, ids=page_id)
def test_no_page_names_a_place_on_one_machine(page):
    """Temporary and system folders that a stranger has too are named nowhere either."""
    found = re.findall(r"(?<![\w.)/])/(?:home|root|tmp|work|Users|mnt|media)/\S*", text_of(page))
    assert found == []


@pytest.mark.parametrize("page", PAGES, ids=page_id)
def test_no_line_is_longer_than_a_table_or_a_link_needs(page):
    prose = FENCED.sub("", text_of(page))
    for line in prose.splitlines():
        if not line.startswith(("|", "!", "    ")):
            assert len(line) <= 110, line


def test_set_up_is_two_lines_that_can_be_pasted():
    lines = [ln for ln in text_of(README).splitlines() if ln.startswith("    python3 -m venv ")]
    assert [line.rpartition("/")[2] for line in lines] == ["listen demo", "pytest"]


def test_the_map_of_the_house_is_the_house():
    """Every module once, under its package, and none that there is not."""
    block = text_of(HOME / "DEVELOPERS.md").partition("    listen/\n")[2].partition("\n\n")[0]
    drawn, package = [], ""
    for line in block.splitlines():
        name = line.split()[0]
        if name.endswith("/"):
            package = name
        elif re.match(r" {6}\w", line):
            drawn.append(name)
        else:
            drawn.append(package + name)
    house = HOME / "listen"
    files = [str(p.relative_to(house)) for p in house.rglob("*.py") if p.stem[0] != "_"]
    assert sorted(drawn) == sorted(files)


# Commands


@pytest.mark.parametrize("name", COMMANDS)
def test_a_commands_help_ends_with_an_example(name):
    done = subprocess.run(
        [sys.executable, "-W", "error", "-m", "listen", name, "--help"],
        env={**os.environ, "PYTHONPATH": str(HOME), "COLUMNS": "100", "TERM": "dumb"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    words, _, lists = done.stdout.partition("\nOptions:")
    words = words.partition("\nArguments:")[0]
    last = words.rstrip().rpartition("\n\n")[2].split("\n")
    assert last[0].strip() == "Example:"
    assert last[1:]
    assert all(line.strip().startswith(f"listen {name}") for line in last[1:])
    assert "--help" in lists


def test_the_page_of_commands_is_what_the_help_says():
    assert text_of(COMMANDS_PAGE) == commands_page(), "stale: run python tests/making_docs.py"
    assert "Default: ." not in commands_page()


def test_the_first_page_has_every_command():
    rows = re.findall(r"^\| `listen (\w+)[^`]*` \|", text_of(README), re.MULTILINE)
    assert rows == list(COMMANDS)


PARSED = [
    *((page_id(page), line) for page in PAGES for line in command_lines(page)),
    *(
        ("help", line.removeprefix("listen "))
        for name, function in functions().items()
        for line in help_parts(name, function)[1]
    ),
]


def test_pages_hold_command_lines():
    assert len(PARSED) > 25


@pytest.mark.parametrize(("page", "line"), PARSED, ids=lambda text: text)
def test_a_printed_command_line_is_one_that_there_is(page, line):
    """Parsed by the command itself, not run."""
    name, *words = shlex.split(line)
    commands = typer.main.get_command(application()).commands
    assert name in commands, f"{page}: there is no listen {name}"
    if words and words != ["--help"]:  # a bare name in a sentence is no line to type
        commands[name].make_context(name, words)  # a usage error fails the test


@pytest.mark.parametrize("page", PAGES, ids=page_id)
def test_a_printed_module_is_one_that_there_is(page):
    for name in MODULE.findall(text_of(page)):
        assert importlib.util.find_spec(name), f"python -m {name}: there is no such module"


# Outputs and Python


def test_outputs_on_the_first_page_are_the_real_ones():
    """Words exactly; numbers to one unit of their last digit, where processors may round apart."""
    blocks = OUTPUT.findall(text_of(README))
    assert blocks
    for _, words, shown, _ in blocks:
        real = f"```text\n{output_of(words)}```\n"
        assert NUMBER.sub("#", shown) == NUMBER.sub("#", real), "run python tests/making_docs.py"
        for printed, now in zip(NUMBER.findall(shown), NUMBER.findall(real), strict=True):
            unit = 10.0 ** -len(printed.partition(".")[2])
            assert abs(float(printed) - float(now)) < 1.5 * unit, (
                f"{printed} on the page, now {now}"
            )


@pytest.mark.parametrize("page", [README, DOCS / "python.md"], ids=page_id)
def test_python_on_a_page_runs(page, tmp_path):
    """All blocks of the page, one after the other, beside the samples."""
    (tmp_path / "samples").symlink_to(HOME / "samples")
    blocks = [code for kind, code in FENCED.findall(text_of(page)) if kind == "python"]
    assert blocks
    done = run_python("\n".join(blocks), tmp_path, MPLCONFIGDIR=str(tmp_path / "mpl"))
    assert (done.returncode, done.stderr) == (0, "")
    for expected in re.findall(r"^print\(.*#\s*(.+)$", "\n".join(blocks), re.MULTILINE):
        assert expected in done.stdout.split("\n"), f"{expected} is not what is printed"


@pytest.mark.parametrize("page", [DOCS / "clarity.md", DOCS / "carrier-fit.md"], ids=page_id)
def test_values_on_a_page_are_those_of_the_code(page):
    assert VALUE.search(text_of(page))
    assert text_of(page) == with_values(text_of(page)), "stale: run python tests/making_docs.py"


def described(page):
    """The names in the first column of a page's tables."""
    rows = re.findall(r"^\| (`[^|]*`) \|", text_of(page), re.MULTILINE)
    return {name for row in rows for name in re.findall(r"`([^`]+)`", row)}


def test_the_page_of_the_answer_has_every_field_and_every_word():
    answer = Location(found=False, probability=0.0, reason="", stops=()).as_dict()
    names = described(DOCS / "answer.md")
    assert set(answer) <= names
    assert set(StopAnswer.__slots__) <= names
    assert set(get_args(Heard)) <= names
    text = text_of(DOCS / "answer.md")
    assert answer["schema"] in text
    assert all(f'`"{way}"`' in text for way in get_args(HeardAs))
