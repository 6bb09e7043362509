"""Make the warning sounds in app/dipbook_app/data/sounds: run ``python docs/make_sounds.py`` from the top folder.

The main energy lies between 500 and 1500 Hz, in pulses of 0.5 to 4 a second: what ISO 7731 asks of a danger signal
for people with hearing loss or ear protection (from memory of the standard, not quoted). Distinct by rhythm as well
as by pitch. A computer's speaker doesn't make them a danger signal in that standard's sense.
"""

from __future__ import annotations

import math
import struct
import sys
import wave
from pathlib import Path

RATE = 22_050
HARMONICS = ((1, 1.0), (2, 0.45), (3, 0.12))
EDGE_S = 0.012

# (fundamental [Hz], length [s]) one after the other; 0 Hz is silence.
SOUNDS = {
    # Two pitches in turn, without a rest: nothing else here has no rest.
    "urgent.wav": ((540.0, 0.25), (720.0, 0.25)) * 4,
    # Three pulses of one pitch, then a rest.
    "abnormal.wav": ((620.0, 0.22), (0.0, 0.16)) * 3 + ((0.0, 0.86),),
    # One long and one short, lower, with a long rest.
    "due.wav": ((510.0, 0.5), (0.0, 0.12), (510.0, 0.18), (0.0, 1.2)),
}


def samples(parts: tuple[tuple[float, float], ...]) -> list[int]:
    """16-bit samples of a sound. parts: (fundamental [Hz], length [s])."""
    out: list[int] = []
    scale = 0.85 * 32_767 / sum(share for _, share in HARMONICS)
    for pitch, length in parts:
        n = round(length * RATE)
        for k in range(n):
            edge = min(1.0, k / (EDGE_S * RATE), (n - 1 - k) / (EDGE_S * RATE))
            tone = sum(share * math.sin(2 * math.pi * pitch * order * k / RATE) for order, share in HARMONICS)
            out.append(round(scale * edge * tone) if pitch else 0)
    return out


def write(folder: Path) -> None:
    """Write every sound as a mono 16-bit WAV file into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, parts in SOUNDS.items():
        values = samples(parts)
        with wave.open(str(folder / name), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE)
            file.writeframes(struct.pack(f"<{len(values)}h", *values))


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[1] / "app/dipbook_app/data/sounds"
    write(target)
    print(f"Wrote {', '.join(SOUNDS)} to {target}")
