"""Sounds that are told apart by rhythm, and players that are missing, fail or hang."""

import asyncio
import io
import itertools
import sys
import time
import wave

import pytest

from ramphold_tui.sound_player import SoundPlayer
from ramphold_tui.view.elements import Banner, Sound
from ramphold_tui.view.tones import RHYTHMS, SoundOfCues, wav

S = 10**9


def test_every_sound_has_a_rhythm_of_its_own_whatever_the_pitch():
    assert set(RHYTHMS) == set(Sound)
    assert len({one.pauses for one in RHYTHMS.values()}) == len(Sound)
    # A listener does not know the tempo: a rhythm of equal pauses differs in its number of strokes
    # from every other of equal pauses.
    equal = [len(one.pauses) for one in RHYTHMS.values() if len(set(one.pauses)) == 1]
    assert len(set(equal)) == len(equal)


@pytest.mark.parametrize("sound", Sound)
def test_the_file_is_loud_where_the_rhythm_has_a_stroke_and_silent_between(sound):
    with wave.open(io.BytesIO(wav(RHYTHMS[sound]))) as file:
        rate = file.getframerate()
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        frames = memoryview(file.readframes(file.getnframes())).cast("h")
    loud = [any(abs(one) > 3000 for one in frames[at : at + rate // 100])
            for at in range(0, len(frames), rate // 100)]  # fmt: skip
    begins = [
        place / 100 for place, on in enumerate(loud) if on and not (place and loud[place - 1])
    ]
    assert begins == pytest.approx(RHYTHMS[sound].strokes_s, abs=0.011)


def shown(name, sound):
    return Banner(word=name, detail="", name=name, sound=sound)


def test_a_situation_sounds_when_it_begins_and_not_while_it_lasts():
    cues = SoundOfCues()
    faster, squeeze = shown("pull faster", Sound.FASTER), shown("pull", None)
    assert cues.next(faster, 0) is Sound.FASTER
    assert cues.next(faster, 10 * S) is None
    assert cues.next(squeeze, 11 * S) is None
    assert cues.next(faster, 12 * S) is Sound.FASTER


def test_a_cue_that_comes_and_goes_does_not_chatter_but_stop_always_sounds():
    cues = SoundOfCues()
    quiet = shown("pull", None)
    assert cues.next(shown("pull faster", Sound.FASTER), 0) is Sound.FASTER
    cues.next(quiet, S)
    assert cues.next(shown("pull faster", Sound.FASTER), 2 * S) is None
    for t_s in (3, 4, 5):
        cues.next(quiet, t_s * S)
        assert cues.next(shown("stop", Sound.STOP), t_s * S) is Sound.STOP


async def rung(players, sound=Sound.FASTER, within_s=10.0):
    """How often the bell rang when a sound was played by these commands."""
    bells = []
    player = SoundPlayer(lambda: bells.append(1), players)
    before_s = time.perf_counter()
    player.play(sound)
    assert time.perf_counter() - before_s < 0.05  # the screen does not wait
    async with asyncio.timeout(within_s):
        await asyncio.gather(player._task)
    await player.aclose()
    return len(bells), player


PYTHON = (sys.executable, "-c")


def test_without_a_player_the_bell_rings_the_rhythm():
    for sound in Sound:
        bells, player = asyncio.run(rung([("no-such-player",)], sound))
        assert bells == len(RHYTHMS[sound].strokes_s)
        assert player.by == "the terminal's bell"


def test_a_player_is_given_the_file_and_the_bell_is_silent(tmp_path):
    seen = tmp_path / "seen.wav"
    copies = (*PYTHON, f"import shutil, sys; shutil.copy(sys.argv[1], {str(seen)!r})")
    bells, player = asyncio.run(rung([copies]))
    assert (bells, player.by) == (0, sys.executable)
    assert seen.read_bytes() == wav(RHYTHMS[Sound.FASTER])


def test_a_player_that_fails_is_left_and_the_next_one_plays(tmp_path):
    played = tmp_path / "played"
    fails = (*PYTHON, "raise SystemExit(1)")
    plays = (*PYTHON, f"open({str(played)!r}, 'w')")
    bells, player = asyncio.run(rung([fails, plays]))
    assert (bells, player._players) == (0, [plays])
    assert played.exists()


def test_a_player_that_hangs_is_ended_and_the_bell_rings():
    hangs = (*PYTHON, "import time; time.sleep(600)")
    bells, _ = asyncio.run(rung([hangs]))
    assert bells == 3


def test_a_newer_sound_ends_the_one_before_and_a_sound_that_is_off_is_none():
    async def flow():
        bells = []
        player = SoundPlayer(lambda: bells.append(1), [])
        for _ in range(5):
            player.play(Sound.SLOWER)
            await asyncio.sleep(0.01)
        player.play(Sound.FASTER)
        await player._task
        several = len(bells)
        player.on = False
        player.play(Sound.OVERLOAD)
        await asyncio.sleep(0.05)
        await player.aclose()
        return several, len(bells)

    several, after = asyncio.run(flow())
    assert (several, after) == (5 + 3, 8)


def test_no_two_strokes_are_so_close_that_a_terminal_merges_them():
    for one in RHYTHMS.values():
        assert min(b - a for a, b in itertools.pairwise(one.strokes_s)) > 0.1
