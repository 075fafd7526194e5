"""SWEEP: which dial stop next, and the walk along the dial with whoever turns it.

Conventions
-----------
Dial positions are in MHz, as the radio shows them; steps in kHz.  Two positions within 50 Hz
are the same stop.

What it gives
-------------
walk             asks a planner, has the radio tuned, listens, keeps, until the planner is done
Ask, Visited     the next stop, and one that is done with
ListPlanner      visits a list, then the stops where the console's switch settles most
ThinkingPlanner  chooses each stop in view of all that was heard, and stops when it is settled
Outlook, Carrier what a thinking planner is handed of all that was heard: protocols
dial_stops       the positions of a dial: round the sound carriers of channel plans, or all
reason_for       why a stop of a list is visited, in words

The walk is handed callables: who tunes, what hears, what keeps and what weighs are not its
business.
"""

from listen.sweep.listed import ListPlanner
from listen.sweep.outlook import Carrier, Outlook
from listen.sweep.stops import dial_stops, reason_for
from listen.sweep.thinking import ThinkingPlanner
from listen.sweep.walk import Ask, Planner, Visited, walk

__all__ = [
    "Ask",
    "Carrier",
    "ListPlanner",
    "Outlook",
    "Planner",
    "ThinkingPlanner",
    "Visited",
    "dial_stops",
    "reason_for",
    "walk",
]
