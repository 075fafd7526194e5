"""What must be said before somebody opens a console: read once, then act on it.

Plain lines, most important first; docs/cautions.md says why.  This module imports nothing.
"""

CAUTIONS = (
    "Work on the console's low-voltage side only. Never open a television or a mains supply, "
    "and leave shut a console that has its mains supply inside.",
    "Keep the console's output in its own shielded cable, with an attenuator. Never connect it "
    "to an aerial or a shared aerial cable: it would be a transmitter.",
    "Hiss is loud. Take headphones off before the dial leaves a station.",
    "Touch the console's shield before its board: static kills chips.",
    "Run the radio from batteries where you can, and the console from its own adapter.",
)

TRIMMING = (
    "Use a trimming tool that fits and is not metal: ferrite cracks, and metal detunes.",
    "Mark where the trimmer stands before you touch it, and count the turns.",
    "Turn slowly: an eighth of a turn can be more than a channel.",
)
"""What else must be said before a trimmer is turned."""
