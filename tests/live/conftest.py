"""A private sound server, a radio that plays into it, and a person at a terminal.

The sound path is the real one: PortAudio through ALSA to a sound server whose only sink is a
null sink; what is played into the sink comes out of its monitor, bit by bit and in real time.
Where the pieces are missing these tests are skipped, or fail if LISTEN_REQUIRE_LIVE=1.
"""

import contextlib
import ctypes.util
import fcntl
import os
import re
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import termios
import threading
import time
from pathlib import Path

import numpy as np
import pytest

RATE_HZ = 48_000
HOME = Path(__file__).parents[2]
PATIENCE_S = 30.0  # for anything awaited: far above what it takes, below a hang

# norewinds: else the sink renders two seconds ahead, and recording begins that much late.
SERVER = """load-module module-native-protocol-unix auth-anonymous=1 socket={d}/native
load-module module-null-sink sink_name=ci rate=48000 channels=2 format=float32le norewinds=1
set-default-sink ci
set-default-source ci.monitor
"""
ALSA = """</usr/share/alsa/alsa.conf>
pcm.linein {{ type pulse server "unix:{d}/native" device "ci.monitor" }}
pcm.nowhere {{ type pulse server "unix:{d}/native" device "missing.monitor" }}
"""


def needed():
    missing = [name for name in ("pulseaudio", "pactl", "pacat") if shutil.which(name) is None]
    if ctypes.util.find_library("portaudio") is None:
        missing.append("libportaudio2")
    if not list(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so")):
        missing.append("libasound2-plugins")
    return missing


def pytest_collection_modifyitems(items):
    """These go first, one after another: they wait in real time while other processes compute."""
    here = [item for item in items if Path(__file__).parent in item.path.parents]
    for item in here:
        item.add_marker(pytest.mark.xdist_group("live"))
    items[:] = here + [item for item in items if item not in here]


@pytest.fixture(scope="session", autouse=True)
def ctrl_c():
    """Ctrl-C reaches the programs of these tests, even where the suite runs in the background.

    A background job of a shell ignores SIGINT, and so would every program it starts; one at a
    terminal does not.  A handler of our own is set back to the default as a program starts.
    """
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.fixture(autouse=True, scope="session")
def _real_sound():
    if missing := needed():
        says = f"the real sound path needs {', '.join(missing)}"
        if os.environ.get("LISTEN_REQUIRE_LIVE") == "1":
            pytest.fail(says)
        pytest.skip(says)


class Server:
    """A sound server of our own: `env` leads a program to it."""

    def __init__(self):
        self.folder = Path(tempfile.mkdtemp(prefix="pa."))  # short: sockets allow 108 letters
        (self.folder / "server.pa").write_text(SERVER.format(d=self.folder))
        (self.folder / "asound.conf").write_text(ALSA.format(d=self.folder))
        paths = ("HOME", "XDG_RUNTIME_DIR", "PULSE_RUNTIME_PATH", "PULSE_STATE_PATH")
        self.env = {
            **os.environ,
            **dict.fromkeys(paths, str(self.folder)),
            "PULSE_SERVER": f"unix:{self.folder}/native",
            "ALSA_CONFIG_PATH": f"{self.folder}/asound.conf",
            "PYTHONPATH": str(HOME),
            "COLUMNS": "200",
            "TERM": "xterm",
        }
        self._log = (self.folder / "log").open("w")
        options = ["-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1"]
        options += ["--disable-shm=yes", "--realtime=no", "--high-priority=no"]
        self.process = subprocess.Popen(
            ["pulseaudio", *options, f"--file={self.folder}/server.pa"],
            env=self.env,
            stdout=self._log,
            stderr=self._log,
        )
        until(lambda: self.control("info").returncode == 0, "the sound server answers")

    def control(self, *words):
        return subprocess.run(["pactl", *words], env=self.env, capture_output=True, text=True)

    def send(self, number):
        self.process.send_signal(number)  # nothing happens where it has ended

    def close(self):
        self.process.kill()
        self.process.wait()
        self._log.close()
        shutil.rmtree(self.folder, ignore_errors=True)


class Player:
    """What the radio plays: an array, shape (n,) or (n, 2), over and over until changed."""

    def __init__(self, server):
        options = ["--playback", "--raw", "--device=ci", "--latency-msec=40"]
        options += [f"--rate={RATE_HZ}", "--channels=2", "--format=float32le"]
        self._process = subprocess.Popen(
            ["pacat", *options], env=server.env, stdin=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
        fcntl.fcntl(self._process.stdin, fcntl.F_SETPIPE_SZ, 4096)
        self._playing = np.zeros((RATE_HZ, 2), np.float32)
        self._place = 0
        self._changed = threading.Lock()
        self._feeder = threading.Thread(target=self._feed, daemon=True)
        self._feeder.start()

    def play(self, samples):
        rows = np.asarray(samples, np.float32)
        rows = rows[:, np.newaxis] if rows.ndim == 1 else rows
        with self._changed:
            self._playing = np.ascontiguousarray(np.broadcast_to(rows, (len(rows), 2)))
            self._place = 0

    def _feed(self):
        try:
            while True:
                with self._changed:
                    piece = self._playing[self._place : self._place + 480]
                    self._place = (self._place + 480) % len(self._playing)
                self._process.stdin.write(piece.tobytes())
                self._process.stdin.flush()
        except (BrokenPipeError, ValueError):
            return  # the server or the test has ended

    def close(self):
        self._process.kill()
        self._process.wait()
        self._feeder.join(PATIENCE_S)
        with contextlib.suppress(BrokenPipeError):
            self._process.stdin.close()


class Terminal:
    """`listen` in a terminal of its own: what it shows can be awaited, keys can be typed."""

    def __init__(self, server, *words, cwd):
        self._master, slave = os.openpty()
        termios.tcsetwinsize(slave, (50, 200))
        self._errors = cwd / "stderr.txt"
        with self._errors.open("ab") as errors:
            errors.truncate(0)
            self.process = subprocess.Popen(
                [sys.executable, "-m", "listen", *words],
                env=server.env,
                cwd=cwd,
                stdin=slave,
                stdout=slave,
                stderr=errors,
                start_new_session=True,
                preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
            )
        os.close(slave)
        self._seen = ""
        self.all = ""

    def expect(self, pattern):
        """Await a pattern in what is shown after the last one awaited, and give its match."""
        ends_s = time.monotonic() + PATIENCE_S
        while not (found := re.search(pattern, self._seen)):
            if not self._read(max(0.0, ends_s - time.monotonic())):
                raise AssertionError(f"no {pattern!r} in {self.all!r}; {self.errors()!r}")
        self._seen = self._seen[found.end() :]
        return found

    def keys(self, text):
        os.write(self._master, text.encode())

    def ends(self):
        """Await its end and give its exit status."""
        ends_s = time.monotonic() + PATIENCE_S
        while self._read(max(0.0, ends_s - time.monotonic())):
            pass
        return self.process.wait(max(0.1, ends_s - time.monotonic()))

    def errors(self):
        return self._errors.read_text()

    def _read(self, timeout_s):
        ready, _, _ = select.select([self._master], [], [], timeout_s)
        if not ready:
            return False
        try:
            data = os.read(self._master, 65_536)
        except OSError:  # the other end is closed
            return False
        text = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", data.decode(errors="replace"))
        self._seen += text
        self.all += text
        return bool(data)

    def close(self):
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        os.close(self._master)


def until(holds, what):
    ends_s = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < ends_s, f"still awaited: {what}"
        time.sleep(0.02)


@pytest.fixture
def server():
    one = Server()
    yield one
    one.send(signal.SIGCONT)
    one.close()


@pytest.fixture
def player(server):
    one = Player(server)
    yield one
    one.close()


@pytest.fixture
def terminal(server, tmp_path):
    opened = []

    def opening(*words):
        opened.append(Terminal(server, *words, cwd=tmp_path))
        return opened[-1]

    yield opening
    for each in opened:
        each.close()


@pytest.fixture
def run(server, tmp_path):
    """Run `listen` without a terminal; gives the finished process."""

    def running(*words, stdin="", env=None):
        return subprocess.run(
            [sys.executable, "-m", "listen", *words],
            env={**server.env, **(env or {})},
            cwd=tmp_path,
            input=stdin,
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
        )

    return running
