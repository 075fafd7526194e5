"""TRIM: the live guide at the trimmer, a state machine fed with blocks of sound.

meter   how much hiss there is now, and how much there has been for a moment
route   where to set the dial, which trimmer, and the ladder of stops from here to there
left    how far the carrier still is from its goal, from a stop either side
rest    whether the hand at the goal rests
ear     what is heard at the stop where the dial stands
kinds   whether a tune, a picture's buzz or a bare carrier is held
pair    which of the trimmers moved, by the picture's buzz
words   its sentences
said    what the guide gives
listener  what it shares with a watch: the ear, the yardstick, sentences and wishes
climb   the stages on the ladder
guide   all of it as one machine: sound and the dial's position in, words and wishes out

Nothing here opens a device or a file or reads a clock: time passes with the samples, so that a
recording replayed, a simulated bench and a live line-in are guided alike.
"""

from listen.trim.guide import Guide
from listen.trim.left import Left, stops_needed
from listen.trim.meter import Meter
from listen.trim.route import Leg, Place, Route, ladder, nearest_stop, route_to
from listen.trim.said import Ask, Frame, Say

__all__ = [
    "Ask",
    "Frame",
    "Guide",
    "Left",
    "Leg",
    "Meter",
    "Place",
    "Route",
    "Say",
    "ladder",
    "nearest_stop",
    "route_to",
    "stops_needed",
]
