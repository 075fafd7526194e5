"""Imports point one way: a part may import only the parts listed for it.

The files are read, not run, so a wrong import is named even where it cannot work.
"""

import ast
from pathlib import Path

HOME = Path(__file__).parent.parent / "listen"
FILES = sorted(HOME.rglob("*.py"))
BASE = {"errors", "_version"}
DATA = BASE | {"channels", "radio", "clip"}
WORK = DATA | {
    *(
        "folder",
        "capture",
        "tuner",
        "sweep",
        "analysis",
        "simulate",
        "picture",
        "terminal",
        "trim",
        "watch",
    ),
}
MAY_IMPORT = {  # in order: each part's list holds only parts above it
    "_version": set(),
    "errors": set(),
    "cautions": set(),
    "data": set(),
    "channels": {"errors", "data"},
    "radio": {"errors"},
    "clip": {"errors"},
    "folder": {"errors", "clip", "radio", "channels"},
    "capture": {"errors", "clip"},
    "tuner": {"errors"},
    "sweep": {"errors", "clip", "radio", "channels", "tuner"},
    "analysis": {"errors", "clip", "radio", "channels"},
    "trim": {"errors", "clip", "radio", "channels", "analysis"},
    "watch": {"errors", "clip", "radio", "channels", "analysis", "trim"},
    "simulate": DATA | {"folder", "analysis", "sweep", "tuner"},
    "picture": {"errors", "channels", "radio", "analysis", "watch"},
    "terminal": DATA | {"analysis", "capture"},
    "commands": WORK | {"cautions"},
    "cli": WORK | {"cautions", "commands"},
}
# Only the trials judge the analysis; the bench that they judge it by never sees it.
ANALYSIS_IS_SEEN_BY = {
    *("adds.py", "beyond.py", "bound.py", "judge.py", "heard.py", "known.py", "moves.py"),
}
ONLY_HERE = {
    "sounddevice": {"capture"},
    "soundfile": {"folder"},
    "matplotlib": {"picture"},
    "typer": {"cli", "commands"},
    "rich": {"cli", "commands", "terminal"},
    "scipy": {"analysis", "simulate", "watch"},
}


def imports(path):
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: write imports in full"
            yield from (
                [f"listen.{a.name}" for a in node.names]
                if node.module == "listen"
                else [node.module]
            )


def part_of(path):
    return path.relative_to(HOME).with_suffix("").parts[0]


def test_the_list_itself_has_no_circle():
    seen = set()
    for part, allowed in MAY_IMPORT.items():
        assert allowed <= seen, part
        seen.add(part)


def test_every_part_is_on_the_list():
    assert {part_of(p) for p in FILES} - {"__init__", "__main__"} <= set(MAY_IMPORT)


def test_every_import_is_on_the_list():
    assert {p.stem for p in FILES} >= {"clip", "answer"}
    for path in FILES:
        part = part_of(path)
        for name in imports(path):
            top, *rest = name.split(".")
            if top == "listen" and part in MAY_IMPORT and rest and rest[0] != part:
                assert rest[0] in MAY_IMPORT[part], f"{path.name} must not import {name}"
            assert part in ONLY_HERE.get(top, {part}), f"{path.name} must not import {name}"


def test_the_bench_does_not_see_the_analysis():
    for path in (HOME / "simulate").glob("*.py"):
        if path.name not in ANALYSIS_IS_SEEN_BY:
            seen = [n for n in imports(path) if n.startswith(("listen.analysis", "listen.sweep"))]
            assert not seen, f"{path.name} must not import {seen[0]}"
