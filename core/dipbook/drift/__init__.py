"""Drift: what the difference has risen above its low, or fallen below its high, less an allowance, at three paces."""

from dipbook.drift.costs import Cost, costs
from dipbook.drift.filters import noise_of_smoothed, reflected, smoothed
from dipbook.drift.follow import follow
from dipbook.drift.levels import FALSE_GAINS, automatic, expected_false_per_tour, expected_words, in_force
from dipbook.drift.noise import scale_of
from dipbook.drift.rows import Followed, Row
from dipbook.drift.settling import CHANGED, OFF, SETTLING, STEADY, settled
from dipbook.drift.state import State, from_dict
from dipbook.drift.step import step
from dipbook.drift.tuning import Clock, Learning, Tuning, tuning_for
from dipbook.drift.words import said

__all__ = ["CHANGED", "FALSE_GAINS", "OFF", "SETTLING", "STEADY", "Clock", "Cost", "Followed", "Learning", "Row",
           "State", "Tuning", "automatic", "costs", "expected_false_per_tour", "expected_words", "follow", "from_dict",
           "in_force", "noise_of_smoothed", "reflected", "said", "scale_of", "settled", "smoothed", "step", "tuning_for"]
