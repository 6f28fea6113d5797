"""Makes the sounds of Marrow Lane, from sines and noise: a growl, a signal bell, a whistle, a bark, loose boards.

    python shows/marrow_lane/sounds/make.py

Written for this show and free to use with it. The same numbers come out at every run.
"""

from __future__ import annotations

import math
import random
import struct
import wave
from collections.abc import Callable
from pathlib import Path

RATE = 16_000
Voice = Callable[[float], float]


def growl(seconds: float) -> Voice:
    """A low throat: a saw that sinks from 90 to 60 Hz, rough at 23 Hz, under rising breath."""
    noise = random.Random(1)

    def voice(t: float) -> float:
        pitch = 90 - 30 * t / seconds
        saw = 2 * ((pitch * t) % 1.0) - 1
        rough = 0.6 + 0.4 * math.sin(math.tau * 23 * t)
        return fade(t, seconds, 0.25, 0.4) * (0.6 * saw * rough + 0.25 * noise.uniform(-1, 1) * t / seconds)

    return voice


def bell(seconds: float) -> Voice:
    """A signal-box bell: five inharmonic partials that die away, struck three times."""
    partials = ((523, 1.0), (1_247, 0.6), (1_983, 0.4), (2_870, 0.25), (3_911, 0.15))

    def voice(t: float) -> float:
        total = 0.0
        for strike in (0.0, 0.5, 1.0):
            if t >= strike:
                age = t - strike
                total += sum(a * math.exp(-age * f / 450) * math.sin(math.tau * f * age) for f, a in partials)
        return 0.3 * total * fade(t, seconds, 0.0, 0.2)

    return voice


def whistle(seconds: float) -> Voice:
    """A far steam whistle: three near tones with breath, that bends down at the end."""
    noise = random.Random(2)

    def voice(t: float) -> float:
        bend = 1 - 0.06 * max(0.0, t / seconds - 0.7) / 0.3
        tones = sum(math.sin(math.tau * f * bend * t) for f in (466, 554, 698)) / 3
        return fade(t, seconds, 0.15, 0.6) * (0.55 * tones + 0.12 * noise.uniform(-1, 1))

    return voice


def bark(seconds: float) -> Voice:
    """A dog twice: a saw that jumps up and falls back within a fifth of a second, with breath in it."""
    noise = random.Random(3)

    def voice(t: float) -> float:
        age = t % 0.4
        pitch = 150 + 130 * math.exp(-((age - 0.06) / 0.05) ** 2)
        saw = 2 * ((pitch * age) % 1.0) - 1
        envelope = min(1.0, age / 0.02) * math.exp(-age / 0.07)
        return fade(t, seconds, 0.0, 0.05) * envelope * (0.7 * saw + 0.3 * noise.uniform(-1, 1))

    return voice


def rattle(seconds: float) -> Voice:
    """Loose boards: knocks of 180 Hz at uneven times, ever closer."""
    draws = random.Random(4)
    noise = random.Random(5)
    knocks, at = [], 0.0
    while at < seconds - 0.1:
        knocks.append((at, draws.uniform(0.5, 1.0)))
        at += draws.uniform(0.5, 1.0) * (0.22 - 0.12 * at / seconds)

    def voice(t: float) -> float:
        ages = [(t - begin, loud) for begin, loud in knocks if 0 <= t - begin < 0.15]
        wood = sum(loud * math.exp(-age / 0.02) * math.sin(math.tau * 180 * age) for age, loud in ages)
        grit = sum(loud * math.exp(-age / 0.004) for age, loud in ages) * noise.uniform(-1, 1)
        return fade(t, seconds, 0.0, 0.1) * (0.7 * wood + 0.25 * grit)

    return voice


def fade(t: float, seconds: float, up: float, down: float) -> float:
    rise = min(1.0, t / up) if up else 1.0
    return rise * min(1.0, max(0.0, (seconds - t) / down))


def write(path: Path, seconds: float, voice: Voice) -> None:
    samples = (max(-1.0, min(1.0, voice(n / RATE))) for n in range(round(seconds * RATE)))
    frames = b"".join(struct.pack("<h", round(0.8 * 32_767 * sample)) for sample in samples)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(frames)


def main() -> None:
    here = Path(__file__).parent
    write(here / "growl.wav", 2.4, growl(2.4))
    write(here / "bell.wav", 2.0, bell(2.0))
    write(here / "whistle.wav", 3.0, whistle(3.0))
    write(here / "bark.wav", 0.8, bark(0.8))
    write(here / "rattle.wav", 1.5, rattle(1.5))


if __name__ == "__main__":
    main()
