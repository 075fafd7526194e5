"""Clarity: how completely a carrier has silenced the open band's roar, 0 to 100.

    clarity = 100 · (1 - 10^(-quieting / 20))

the share of the roar's voltage that is gone.  0 is the open band (or noisier, as just beyond
a cliff); 50 is 6 dB of quieting, 90 is 20 dB, 99 is 40 dB.  It is the same for music, a tone
and silence, and does not depend on the volume.
"""

import numpy as np
from numpy.typing import NDArray


def clarity_of(quieting_db: NDArray[np.float64] | float) -> NDArray[np.float64]:
    """Clarity, 0 to 100, of a quieting in dB below the roar; nan stays nan."""
    return np.asarray(100 * (1 - 10 ** (-np.maximum(np.asarray(quieting_db), 0.0) / 20)))
