"""What the terms are called on the screen."""

from __future__ import annotations

LABELS = {
    "transfers": "Transfers", "pills": "Slugs and pills", "additions": "Added", "discards": "Discarded",
    "lineup": "Line-up changes",
    "steel": "Steel in the hole", "bore": "Filling of the pipe", "trip": "Pipe pulled or run",
    "lines": "Drain-back of the lines",
    "cuttings": "Cuttings carried off", "equipment": "Equipment filled", "rates": "Rates in force",
}
"""Name of a term -> its label."""
