"""What each stop gave and what each carrier's fit is, as an answer shows them."""

from collections.abc import Sequence

import numpy as np

from listen.analysis.answer import CarrierFit, Heard, StopAnswer
from listen.analysis.clarity import clarity_of
from listen.analysis.evidence import Candidate
from listen.analysis.heard import Sound
from listen.analysis.measures import Measures
from listen.analysis.readings import readings_of
from listen.analysis.runs import Run
from listen.analysis.weigh import Weighed

CURVE_STEP_MHZ = 0.01


def fit_answer(one: Candidate, weighed: Weighed) -> CarrierFit:
    """A candidate's fit on the true scale, with its curve in clarity."""
    local = weighed.error.at(one.fit.mean_mhz)
    dial_mhz = np.arange(one.fit.best_mhz - 0.5, one.fit.best_mhz + 0.5, CURVE_STEP_MHZ)
    curve = clarity_of(one.fit.curve_db(dial_mhz, one.fit.best_mhz))
    _, used = readings_of(one.run, weighed.runs, weighed.sweep, weighed.sounds)
    return CarrierFit(
        one.fit.mean_mhz - local.mean_khz / 1e3,
        one.fit.interval_mhz(0.95, local.kernel),
        tuple(float(mhz) for mhz in dial_mhz),
        tuple(float(c) for c in curve),
        tuple(used),
    )


def stop_answers(
    weighed: Weighed, found: Candidate | None, mains_hz: Sequence[float]
) -> tuple[StopAnswer, ...]:
    """What each stop gave, in the folder's order."""
    side = {i: run for run in weighed.runs for i in run.held}
    own = [found.run] if found else []
    if found and weighed.mirror:  # the console is heard there too
        own.append(weighed.mirror.run)
    by_mirror = found is not None and weighed.ways[0].heard_as == "mirror"
    mirrored = own[:] if by_mirror else own[1:]
    for run in weighed.runs:  # a carrier's slopes are its own
        if run.side < 0 or run in own:
            _, used = readings_of(run, weighed.runs, weighed.sweep, weighed.sounds)
            for i in used:
                if weighed.sounds[i].kind == "edge":
                    side[i] = run
    answers = []
    for i, (stop, sound) in enumerate(zip(weighed.sweep.stops, weighed.sounds, strict=True)):
        quieting = weighed.sweep.quieting_db[i]
        known = bool(np.isfinite(quieting))
        tone, comb = stop.tone, stop.comb
        heard = _heard(stop, sound, side.get(i), own, weighed.sweep.roar.heard)
        answers.append(
            StopAnswer(
                file=stop.file,
                dial_mhz=stop.dial_mhz,
                console=stop.console,
                heard=heard,
                clarity=float(clarity_of(quieting)) if known else None,
                hiss_db=stop.hiss.calm_db[weighed.sweep.band] if known and stop.hiss else None,
                quieting_db=float(quieting) if known else None,
                tone_hz=tone.tone_hz if tone else None,
                tone_dbfs=tone.tone_dbfs if tone else None,
                sinad_db=tone.sinad_db if tone else None,
                hum_hz=comb.hum_hz(mains_hz) if comb else None,
                buzz_hz=comb.rate_hz if comb and comb.rich and comb.field_rates else None,
                why=_why(heard, sound, side.get(i) in mirrored),
            )
        )
    return tuple(answers)


def _why(heard: Heard, sound: Sound, mirrored: bool) -> str:
    """Why a stop was heard as that; what weighed most does not decide an unclear one."""
    if mirrored:
        return f"the console's mirror: {sound.why}"
    if heard == "unclear" and sound.kind == "programme":
        return f"a carrier, whose is open: {sound.why}, but that does not decide it"
    return sound.why


def _heard(stop: Measures, sound: Sound, run: Run | None, own: list[Run], measured: bool) -> Heard:
    """The word for a stop.

    own       the runs that are the console's
    measured  whether the hiss had a roar to be measured against
    """
    if stop.spoiled:
        return "spoiled"
    if sound.kind in ("silent", "muted"):
        return "muted"
    if sound.kind == "open":
        return "hiss"
    if run in own:
        return "console"
    if sound.kind == "buzz":
        return "picture"
    slope = sound.kind == "edge" and run is not None and run.side < 0
    if measured and (slope or (sound.kind == "programme" and sound.odds < -1)):
        return "station"
    return "unclear"
