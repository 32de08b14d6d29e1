"""Sounds as rhythms: a terminal's bell has no pitch, so the pattern alone tells them apart."""

import array
import io
import math
import sys
import wave

from msgspec import Struct

from ramphold_tui.view.elements import Banner, Sound

#: Between two strokes, in s. A terminal merges bells that follow one another faster.
QUICK_S, SLOW_S = 0.15, 0.6
_BEEP_S = 0.09
_RATE = 16_000
_LOUD = 0.5
#: Over this part of a beep it swells and fades, so that it does not click.
_EDGE_S = 0.008
#: A cue that comes and goes sounds no oftener than this; what is urgent always does.
_AGAIN_NS = 3 * 10**9
_URGENT = frozenset({Sound.STOP, Sound.OVERLOAD, Sound.HOLD_UP})


class Rhythm(Struct, frozen=True):
    """A sound: the pauses between its strokes, quick `.` or slow `-`, and the pitch in Hz."""

    pauses: str
    hz: int

    @property
    def strokes_s(self) -> tuple[float, ...]:
        """When each stroke begins, in s from the first."""
        at, found = 0.0, [0.0]
        for pause in self.pauses:
            at += QUICK_S if pause == "." else SLOW_S
            found.append(round(at, 3))
        return tuple(found)


RHYTHMS = {
    Sound.FASTER: Rhythm("..", 1100),
    Sound.SLOWER: Rhythm("-", 500),
    Sound.STOP: Rhythm(".....", 800),
    Sound.TOP_UP: Rhythm(".-", 900),
    Sound.HOLD_UP: Rhythm("-..", 700),
    Sound.SIEVE_DONE: Rhythm(".-.", 600),
    Sound.OVERLOAD: Rhythm("..-..", 1400),
}


def wav(rhythm: Rhythm) -> bytes:
    """The rhythm as a WAV file: 16 bits, one channel."""
    samples = array.array("h", bytes(2 * _samples(rhythm.strokes_s[-1] + _BEEP_S)))
    for start_s in rhythm.strokes_s:
        first = _samples(start_s)
        for place in range(_samples(_BEEP_S)):
            t_s = place / _RATE
            swell = min(1.0, t_s / _EDGE_S, (_BEEP_S - t_s) / _EDGE_S)
            wave_now = math.sin(2 * math.pi * rhythm.hz * t_s)
            samples[first + place] = round(32_767 * _LOUD * swell * wave_now)
    if sys.byteorder == "big":
        samples.byteswap()
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(_RATE)
        out.writeframes(samples.tobytes())
    return file.getvalue()


class SoundOfCues:
    """Which sound a situation at the press calls for: the one it begins with."""

    def __init__(self) -> None:
        self._name = ""
        self._played_ns: dict[Sound, int] = {}

    def next(self, shown: Banner, now_ns: int) -> Sound | None:
        """The sound that is due now that `shown` is on the screen; None for silence."""
        begins, self._name = shown.name != self._name, shown.name
        # A standing overload rings by itself, until it is seen.
        if not begins or shown.sound in (None, Sound.OVERLOAD):
            return None
        before_ns = self._played_ns.get(shown.sound)
        often = before_ns is not None and now_ns - before_ns < _AGAIN_NS
        if often and shown.sound not in _URGENT:
            return None
        self._played_ns[shown.sound] = now_ns
        return shown.sound


def _samples(seconds: float) -> int:
    return round(seconds * _RATE)
