"""Plays sounds beside the screen: by a program where there is one, else by the terminal's bell."""

import asyncio
import shutil
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from ramphold_tui.view.elements import Sound
from ramphold_tui.view.tones import RHYTHMS, Rhythm, wav

#: Programs that play a WAV file, and their options.
PLAYERS = (("pw-play",), ("aplay", "-q"))
#: Every sound is over by then; a player that still runs hangs.
_LONGEST_S = 4.0


class SoundPlayer:
    """Plays one sound at a time; a newer one ends the one before.

    A player that is missing, fails or hangs is not tried again; the bell rings instead.

    Args:
        bell: rings the terminal's bell once.
        players: commands that take the name of a WAV file, in the order of preference.
    """

    def __init__(
        self, bell: Callable[[], object], players: Sequence[tuple[str, ...]] = PLAYERS
    ) -> None:
        self.on = True
        self._bell = bell
        self._players = [one for one in players if shutil.which(one[0])]
        self._task: asyncio.Task[None] | None = None
        self._folder: tempfile.TemporaryDirectory[str] | None = None

    @property
    def by(self) -> str:
        """What plays."""
        return self._players[0][0] if self._players else "the terminal's bell"

    def play(self, sound: Sound) -> None:
        """Begin a sound, and return at once."""
        if not self.on:
            return
        self.stop()
        self._task = asyncio.get_running_loop().create_task(self._play(sound))

    def stop(self) -> None:
        """End the sound that is played."""
        if self._task is not None:
            self._task.cancel()
            self._task = None

    async def aclose(self) -> None:
        """End the sound that is played, and wait until its player is gone."""
        task, self._task = self._task, None
        if task is not None:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)
        if self._folder is not None:
            self._folder.cleanup()

    async def _play(self, sound: Sound) -> None:
        while self._players:
            if await self._played_by(self._players[0], sound):
                return
            del self._players[0]
        await self._ring(RHYTHMS[sound])

    async def _ring(self, rhythm: Rhythm) -> None:
        before_s = 0.0
        for at_s in rhythm.strokes_s:
            await asyncio.sleep(at_s - before_s)
            before_s = at_s
            self._bell()

    async def _played_by(self, player: tuple[str, ...], sound: Sound) -> bool:
        try:
            file = self._file(sound)
            process = await asyncio.create_subprocess_exec(
                *player,
                file,
                stdin=asyncio.subprocess.DEVNULL,
                stdout=asyncio.subprocess.DEVNULL,
                stderr=asyncio.subprocess.DEVNULL,
            )
        except OSError:
            return False
        try:
            async with asyncio.timeout(_LONGEST_S):
                return await process.wait() == 0
        except TimeoutError:
            return False
        finally:
            if process.returncode is None:
                process.kill()
                await process.wait()

    def _file(self, sound: Sound) -> str:
        if self._folder is None:
            self._folder = tempfile.TemporaryDirectory(prefix="ramphold-sounds-")
        path = Path(self._folder.name) / f"{sound.name}.wav"
        if not path.exists():
            path.write_bytes(wav(RHYTHMS[sound]))
        return str(path)
