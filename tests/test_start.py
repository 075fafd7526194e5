"""What a command does not need it does not import: starting costs more than answering.

No times here (`python tests/bench_start.py` takes them); what is counted is sys.modules.
"""

import json
import os
import subprocess
import sys

import pytest
from making_docs import HOME

SEE = """
import json, sys
sys.argv = ["listen", *{words!r}]
try:
    from listen.__main__ import main
    main()
except SystemExit as left:
    assert left.code in (0, None), left.code
print(json.dumps(sorted(sys.modules)))
"""


def imported_by(*words):
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", SEE.format(words=list(words))],
        env={**os.environ, "PYTHONPATH": str(HOME)},
        capture_output=True,
        text=True,
        check=True,
    )
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_the_version_needs_nothing():
    modules = imported_by("--version")
    assert "listen._version" in modules
    for name in ("numpy", "typer", "rich", "scipy", "soundfile", "listen.cli"):
        assert name not in modules


@pytest.mark.parametrize("how", [[], ["--json"]], ids=["words", "json"])
def test_locate_imports_no_device_no_drawing_and_no_slow_library(how):
    modules = imported_by("locate", str(HOME / "samples" / "moved-console"), *how)
    assert {"numpy", "soundfile", "listen.analysis.locate"} <= modules
    for name in ("sounddevice", "matplotlib", "scipy", "numpy.ma", "rich", "listen.simulate"):
        assert name not in modules


def test_a_look_up_needs_no_arrays():
    modules = imported_by("channels", "us-air:6")
    assert "listen.channels" in modules
    for name in ("numpy", "scipy", "soundfile", "sounddevice", "matplotlib"):
        assert name not in modules


def test_the_library_is_imported_when_it_is_used():
    code = """import listen, sys
print("numpy" in sys.modules)
listen.Clip
print("numpy" in sys.modules)"""
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        env={**os.environ, "PYTHONPATH": str(HOME)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == ["False", "True"]
