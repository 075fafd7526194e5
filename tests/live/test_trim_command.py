"""`listen trim` over the real sound path: a person, a radio that is a bench, a moving carrier.

The person does what the screen says: sets the dial where it is wanted, presses Enter, and turns
the trimmer while told to turn.  The bench then plays what its radio hears, from that dial, of the
carrier where it has got to.  The moves are coarser than a hand's, so that it takes seconds.
"""

import csv
import re
import shlex
import signal
from dataclasses import replace
from functools import cache

import pytest

from listen.simulate.air import Console
from listen.simulate.bench import Bench

OPEN_MHZ = 90.3
LOOP_S = 3.0
BENCH = Bench(console=Console(sound_mhz=101.2, strength_db=30.0, spacing_mhz=5.5, seed=4), seed=104)
START = ("trim", "--to", "au-air:4", "--from", "101.2", "--input", "linein")


@cache
def heard(dial_mhz, sound_mhz):
    """What the radio plays there: the console's sound carrier stands on sound_mhz."""
    console = replace(BENCH.console, sound_mhz=sound_mhz)
    return replace(BENCH, console=console).hear(dial_mhz, LOOP_S).samples


class Person:
    """Somebody at the bench; `carrier_mhz` follows the trimmer, towards is how it is turned."""

    def __init__(self, shown, player, towards=-1):
        self.shown, self.player, self.towards = shown, player, towards
        self.carrier_mhz, self.dial_mhz, self.walked = 101.2, OPEN_MHZ, []

    def play(self):
        self.player.play(heard(self.dial_mhz, round(self.carrier_mhz, 3)))

    def obey(self, key="\n"):
        """Set the dial where it is wanted next, and press Enter."""
        asked = self.shown.expect(r"(?<!\?  )Dial to (an open spot|[\d.]+ MHz)\.")[1]
        self.dial_mhz = OPEN_MHZ if "open" in asked else float(asked.split()[0])
        self.walked.append(self.dial_mhz)
        self.play()
        self.shown.keys(key)

    def turn(self, khz):
        self.carrier_mhz += self.towards * khz / 1e3
        self.play()


def rows(path):
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


def test_a_person_is_led_down_a_ladder_onto_the_channel(terminal, player, tmp_path):
    shown = terminal(*START, "--log", "log.csv")
    shown.expect("Caution: ")
    shown.expect("not metal")
    shown.expect("must fall by 0.45 MHz")
    person = Person(shown, player)
    for expected in (OPEN_MHZ, 101.1, 100.9):
        person.obey()
        assert person.dial_mhz == expected
    shown.expect("T U R N")
    person.turn(200)  # to 101.0
    shown.expect("Heard on 100.9 MHz, after 101.1: it runs the right way")
    person.obey()
    assert person.dial_mhz == 100.7
    shown.expect("T U R N")
    person.turn(150)
    shown.expect("W A R M E R")
    person.turn(110)  # 100.74
    shown.expect("H O L D")
    shown.expect("Heard on 100.7 MHz, after 100.9")
    person.turn(200)  # beyond the goal's cliff
    shown.expect("P A S S E D")
    person.turn(-200)
    shown.expect("H O L D")
    shown.keys("\n")
    for _ in range(4):
        person.obey()
    found = shown.expect(r"On target: ([+-]\d+) kHz left \(95 %: ([+-]\d+) to ([+-]\d+)\)")
    left, low, high = (float(text) for text in found.groups())
    person.obey()
    shown.expect("both carriers moved together")
    assert (shown.ends(), shown.errors()) == (0, "")
    assert sorted(person.walked[4:8]) == [100.5, 100.6, 100.8, 100.9]
    true_left = 1e3 * (100.75 - person.carrier_mhz)
    assert low <= true_left <= high
    # 40 benches by chance (18 to 40 dB, passbands 160 to 260 kHz): 6 kHz rms about the truth.
    # Three times that.
    assert left == pytest.approx(true_left, abs=18)
    kept = rows(tmp_path / "log.csv")
    assert {"roar", "start", "ahead", "goal", "sides", "pair"} <= {row["stage"] for row in kept}
    told = [row["said"] for row in kept if row["said"]]
    assert told[0].startswith("Goal: au-air:4")
    asked = [text.split("  ")[0] for text in told if text.startswith("Dial to ")]
    assert asked[:3] == ["Dial to an open spot.", "Dial to 101.1 MHz.", "Dial to 100.9 MHz."]
    assert len(asked) == len(person.walked)
    (result,) = [row for row in kept if row["left_khz"]]
    assert float(result["left_khz"]) == pytest.approx(left, abs=0.5)


def test_the_wrong_way_is_noticed_from_the_order_of_what_is_heard(terminal, player):
    shown = terminal(*START, "--log", "log.csv")
    person = Person(shown, player, towards=+1)
    for _ in range(3):
        person.obey()
    shown.expect("T U R N")
    person.turn(200)  # to 101.4: away from the goal
    shown.expect("T U R N")
    shown.keys("\n")  # "where is it?"
    person.obey()
    assert person.dial_mhz == 101.1
    person.obey()
    assert person.dial_mhz == 101.3
    shown.expect("Wrong way: it was heard on 101.1 MHz and is now on 101.3")
    shown.keys("\x03")
    assert shown.ends() == 130
    assert "Traceback" not in shown.errors()
    again = re.search(r"To go on:  listen (.*)", shown.errors())
    words = shlex.split(again[1])
    assert words[words.index("--from") + 1] == "101.3"
    assert words.count("--from") == 1


@pytest.mark.parametrize(("how", "says"), [("kill", "went away"), ("stop", "has stalled")])
def test_an_input_that_is_lost_keeps_the_log(terminal, player, server, tmp_path, how, says):
    shown = terminal(*START, "--log", "log.csv")
    person = Person(shown, player)
    for _ in range(3):
        person.obey()
    shown.expect("T U R N")
    server.send(signal.SIGKILL if how == "kill" else signal.SIGSTOP)
    assert shown.ends() == 2
    said = shown.errors().splitlines()
    assert len(said) == 2
    assert said[0].startswith("listen: the sound input linein ")
    assert says in said[0]
    assert said[1].startswith("The log is kept in log.csv.  To go on:  listen trim --to au-air:4")
    assert said[1].endswith("--log log.csv --from 101.1")
    assert rows(tmp_path / "log.csv")[-1]["stage"] == "ahead"


def test_without_a_key_it_ends_by_itself_and_waits_for_a_dial_that_is_not_turned(terminal, player):
    words = ("--wait", "--dwell", "2", "--log", "log.csv")
    shown = terminal(*START, *words)
    person = Person(shown, player)
    person.carrier_mhz = 100.74
    for _ in range(2):  # the open spot, and the goal's
        person.obey(key="")
    shown.expect("held and still for 8 s, it is measured")
    shown.expect("Take the tool away")
    shown.expect("Dial to 100.6 MHz")
    shown.expect(
        r"It sounds as it did: is the dial set\?  Dial to 100.6 MHz"
    )  # the hands were busy
    person.dial_mhz = 100.6
    person.play()
    for _ in range(3):
        person.obey(key="")
    found = shown.expect(r"On target: [+-]\d+ kHz left \(95 %: ([+-]\d+) to ([+-]\d+)\)")
    low, high = (float(text) for text in found.groups())
    assert low <= 10 <= high  # 100.75 minus 100.74
    person.obey(key="")
    shown.expect("The trim is done")
    assert (shown.ends(), shown.errors()) == (0, "")
    assert sorted(person.walked[2:5]) == [100.5, 100.8, 100.9]
