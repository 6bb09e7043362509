"""What a person sees who looks at the flow line: in words, and rough, as an eye tells it."""

from __future__ import annotations

LOOKS = ((2e-5, "nothing runs"), (2e-4, "it drips and trickles"), (2e-3, "a small stream runs"),
         (1e-2, "it runs strongly"))
"""Flow below which it looks so [m3/s] (our choice, no source); 1 bbl/min is 2.65e-3."""
FULL = "it runs full"


def looks(flow_m3_s: float) -> str:
    """What is seen at the flow line. flow_m3_s: that runs there, below 0 while the lines fill [m3/s]."""
    return next((words for most, words in LOOKS if flow_m3_s < most), FULL)
