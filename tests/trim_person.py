"""Somebody at a simulated bench who obeys the guide: sets the dial, turns the trimmer, presses.

The radio is the model bench; what it hears from a dial stop of a carrier is made once and played
in a loop.  Time passes with the samples alone.
"""

from dataclasses import replace
from functools import cache

import numpy as np

from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.receiver import Receiver
from listen.trim import Guide

RATE_HZ = 48_000
OPEN_MHZ = 90.3
LOOP_S = 2.6
PIECE_S = 0.25
CONSOLE = Console(sound_mhz=101.2, strength_db=30.0, spacing_mhz=5.5, seed=4)


@cache
def heard(console, dial_mhz, stations=(), receiver=Receiver()):  # noqa: B008
    """The radio at one dial stop, samples of shape (n, 1)."""
    return Bench(stations, console, receiver=receiver, seed=104).hear(dial_mhz, LOOP_S).samples


def station(mhz):
    return (Station(mhz, 35.0, "music"),)


class Person:
    """Plays a guide's other side.

    turns   how far one piece of turning moves the carriers, kHz, positive upward
    stops   where the hand stops: a sound carrier, MHz
    moves   "both" carriers, or the "sound" alone
    receiver  the radio, where it is not the usual one

    volume_db is what the knob adds, unplugged whether the line is dead.
    """

    def __init__(self, guide, *, turns, stops, console=CONSOLE, moves="both", stations=(), **radio):
        self.radio = radio
        self.guide, self.turns, self.stops, self.moves = guide, turns, stops, moves
        self.console, self.stations = console, stations
        self.volume_db, self.unplugged = 0.0, False
        self.dial_mhz, self.place = OPEN_MHZ, 0
        self.walked, self.words, self.says, self.frames = [], [], [], []
        self.says += guide.begin()

    @property
    def sound_mhz(self):
        return self.console.true_sound_mhz

    def said(self, text):
        return [said for said in self.says if text in said.text]

    def turn(self, khz):
        if self.moves == "both":
            moved = round(self.console.sound_mhz + khz / 1e3, 4)
            self.console = replace(self.console, sound_mhz=moved)
        else:
            self.console = replace(self.console, sound_trim_khz=self.console.sound_trim_khz + khz)

    def set_dial(self, dial_mhz):
        self.dial_mhz = OPEN_MHZ if dial_mhz is None else dial_mhz
        self.walked.append(self.dial_mhz)
        self.guide.dial_set(dial_mhz)

    def listen(self, duration_s=PIECE_S):
        """Let time pass; gives the frames of it."""
        clip = heard(self.console, self.dial_mhz, self.stations, **self.radio)
        count = round(duration_s * RATE_HZ)
        piece = np.take(clip, range(self.place, self.place + count), axis=0, mode="wrap")
        self.place += count
        gain = 0.0 if self.unplugged else 10 ** (self.volume_db / 20)
        frames = self.guide.hear(np.clip(piece * np.float32(gain), -1, 1))
        for frame in frames:
            self.says += frame.says
            if not self.words or self.words[-1] != frame.word:
                self.words.append(frame.word)
        self.frames += frames
        return frames

    def work(self, until=lambda person: person.guide.stage == "done", most_s=150.0):
        """Obey until something holds; gives whether it came to hold."""
        for _ in range(round(most_s / PIECE_S)):
            if until(self):
                return True
            guide = self.guide
            if self.said("other way") and self.turns * (self.stops - self.sound_mhz) < 0:
                self.turns = -self.turns
            if guide.ask is not None:
                self.set_dial(guide.ask.dial_mhz)
            elif guide.stage in ("ahead", "goal"):
                if abs(self.stops - self.sound_mhz) * 1e3 > abs(self.turns) / 2:
                    self.turn(self.turns)
                elif self.words[-1] == "HOLD":
                    self.listen(2.5)
                    guide.enter()
            self.listen()
        return False


def begun(route, radio, **more):
    return Guide(route, radio, RATE_HZ, patience_s=4.0, **more)
