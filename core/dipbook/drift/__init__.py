"""Drift: what the difference has risen above its low, or fallen below its high, less an allowance, at three paces."""

from dipbook.drift.filters import noise_of_smoothed, reflected, smoothed
from dipbook.drift.follow import follow
from dipbook.drift.rows import Followed, Row
from dipbook.drift.state import State, from_dict
from dipbook.drift.step import step
from dipbook.drift.tuning import Clock, Learning, Tuning, tuning_for

__all__ = ["Clock", "Followed", "Learning", "Row", "State", "Tuning", "follow", "from_dict", "noise_of_smoothed",
           "reflected", "smoothed", "step", "tuning_for"]
