"""When the screen sounds: for cues, for warnings until they are seen, for sieves that are done."""

from ramphold_tui.sound_player import SoundPlayer
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.elements import Sound
from ramphold_tui.view.press_alarms import ringing
from ramphold_tui.view.press_banner import banner
from ramphold_tui.view.sieve_timers import just_done
from ramphold_tui.view.tones import SoundOfCues

_RING_AGAIN_NS = 2 * 10**9


class Alarms:
    """Has sounds played for what is known of the bench; each is begun once.

    Args:
        player: plays them.
    """

    def __init__(self, player: SoundPlayer) -> None:
        self._player = player
        self._cues = SoundOfCues()
        self._rung_for: set[str] = set()
        self._rung_ns = 0
        self._rung_sieves: frozenset[int] = frozenset()

    def ring(self, bench: BenchState, now_ns: int) -> None:
        """Ring for a new warning, and again while its cause stands and nobody has seen it."""
        kinds: set[str] = {one.kind for one in ringing(bench)}
        due = now_ns - self._rung_ns >= _RING_AGAIN_NS
        if kinds - self._rung_for or (kinds and due):
            self._player.play(Sound.OVERLOAD)
            self._rung_ns = now_ns
        self._rung_for = kinds

    def sound(self, bench: BenchState, now_ns: int) -> None:
        """Sound the cue that has just begun, and each sieve timer that has ended."""
        sound = self._cues.next(banner(bench, now_ns), now_ns)
        done = just_done(bench.sieves, now_ns)
        if sound is not None and not self._rung_for:
            self._player.play(sound)
        elif done - self._rung_sieves:
            self._player.play(Sound.SIEVE_DONE)
        self._rung_sieves |= done
