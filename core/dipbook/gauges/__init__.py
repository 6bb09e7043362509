"""Gauges that can't be trusted, called out. Nothing here changes a number, or quiets or delays a warning."""

from dipbook.gauges.counted import in_doubt
from dipbook.gauges.doubt import HINTS, KINDS, READS_LOW, Doubt, true_change
from dipbook.gauges.drift import breathing, drifts, steps
from dipbook.gauges.ends import clipped
from dipbook.gauges.gauge import Gauge, cleaned
from dipbook.gauges.isolated import isolated
from dipbook.gauges.look import doubts, findings
from dipbook.gauges.noise import noisy
from dipbook.gauges.pairs import tilted, transfers
from dipbook.gauges.silence import gaps, missing
from dipbook.gauges.spikes import spikes
from dipbook.gauges.still import stuck
from dipbook.gauges.words import NOTHING_SUPPRESSED, brief, rests_on, words

__all__ = ["HINTS", "KINDS", "NOTHING_SUPPRESSED", "READS_LOW", "Doubt", "Gauge", "breathing", "brief", "cleaned",
           "clipped", "doubts", "drifts", "findings", "gaps", "in_doubt", "isolated", "missing", "noisy", "rests_on",
           "spikes", "steps", "stuck", "tilted", "transfers", "true_change", "words"]
