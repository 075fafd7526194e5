"""Channel plans, television systems and FM bands as published, looked up both ways.

What it answers: which channels have a carrier here, where a named channel has its
carriers, and what an FM dial of a given band can hear of them.

Conventions
-----------
Carriers and edges are nominal, in MHz; offsets and widths of search in kHz.  Spacing is
sound minus picture, so it is negative where the sound lies below (systems A, and L in
band I).  A channel is named `plan:label`, as in `us-air:6`; upper and lower case are alike.

What it gives
-------------
plans, plan, channels        the tables, in their own order
system, fm_bands, fm_band    systems and bands as numbers
citation, citations, clauses what a `source` stands for, written out
by_name                      one channel
by_sound, by_picture         the channels with a carrier near a frequency, nearest first
heard_on, am_sound_on        what an FM dial can hear of them, and what it cannot
in_aeronautical_band         whether a frequency lies where aircraft navigate and speak
mhz_from, band_from          a frequency or a band that somebody typed
checked_mhz                  a frequency, or BadDial with the slip it looks like
mhz_text                     a frequency as a dial shows it

It knows nothing of recordings, and of radios only the band of the dial, the usual
intermediate frequency and the side of the oscillator.
"""

from listen.channels.frequency import (
    band_from,
    checked_mhz,
    in_aeronautical_band,
    mhz_from,
    mhz_text,
)
from listen.channels.lookup import (
    OnDial,
    Oscillator,
    am_sound_on,
    by_name,
    by_picture,
    by_sound,
    heard_on,
    off_by_khz,
)
from listen.channels.tables import (
    Channel,
    FmBand,
    Plan,
    System,
    channels,
    citation,
    citations,
    clauses,
    fm_band,
    fm_bands,
    plan,
    plans,
    system,
    systems,
)

__all__ = [
    "Channel",
    "FmBand",
    "OnDial",
    "Oscillator",
    "Plan",
    "System",
    "am_sound_on",
    "band_from",
    "by_name",
    "by_picture",
    "by_sound",
    "channels",
    "checked_mhz",
    "citation",
    "citations",
    "clauses",
    "fm_band",
    "fm_bands",
    "heard_on",
    "in_aeronautical_band",
    "mhz_from",
    "mhz_text",
    "off_by_khz",
    "plan",
    "plans",
    "system",
    "systems",
]
