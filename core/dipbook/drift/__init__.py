"""Drift: what the difference has risen above its low, or fallen below its high, less an allowance, at three paces."""

from dipbook.drift.costs import Cost, cost_said, costs
from dipbook.drift.filters import noise_of_smoothed, reflected, smoothed
from dipbook.drift.follow import follow
from dipbook.drift.levels import Expected, automatic, expected_false_per_tour, expected_said
from dipbook.drift.noise import scales_of
from dipbook.drift.retuned import interval_of, retuned
from dipbook.drift.rows import Followed, Row
from dipbook.drift.settling import CHANGED, OFF, SETTLING, STEADY, settled
from dipbook.drift.state import State, from_dict, restarted
from dipbook.drift.step import step
from dipbook.drift.tuning import Clock, Learning, Tuning, tuning_for
from dipbook.drift.words import NOTHING_YET, said

__all__ = ["CHANGED", "NOTHING_YET", "OFF", "SETTLING", "STEADY", "Clock", "Cost", "Expected", "Followed", "Learning",
           "Row", "State", "Tuning", "automatic", "cost_said", "costs", "expected_false_per_tour", "expected_said",
           "follow", "from_dict", "interval_of", "noise_of_smoothed", "reflected", "restarted", "retuned", "said",
           "scales_of", "settled", "smoothed", "step", "tuning_for"]
