"""CAPTURE: a line-in to arrays of samples.

devices  which inputs there are, and which is meant
linein   an open one: skip, record, blocks; what is lost is noticed
pace     frames delivered against the clock
cue      a tone that tells the clarity
hush     keeps what C libraries print away from the person
"""

from listen.capture.devices import Input, choose, inputs
from listen.capture.linein import LineIn

__all__ = ["Input", "LineIn", "choose", "inputs"]
