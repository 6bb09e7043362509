"""Connections: what came back while the pumps were off, against earlier ones that a person accepted."""

from dipbook.flowback.above import Above, above, explained, not_compared, worst
from dipbook.flowback.adopted import Band, Said, band_for, bands, findings, said_of, section_at
from dipbook.flowback.curves import Connection, Stop, find, stops
from dipbook.flowback.envelope import FEWEST, MINUTES, Envelope, Excess, alike, envelope, excess, spread, stopped_s
from dipbook.flowback.usual import Unusual, unusual

__all__ = ["FEWEST", "MINUTES", "Above", "Band", "Connection", "Envelope", "Excess", "Said", "Stop", "Unusual", "above",
           "alike", "band_for", "bands", "envelope", "excess", "explained", "find", "findings", "not_compared",
           "said_of", "section_at", "spread", "stopped_s", "stops", "unusual", "worst"]
