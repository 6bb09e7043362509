"""Connections: what came back while the pumps were off, against what came back before."""

from dipbook.flowback.curves import Connection, find
from dipbook.flowback.envelope import MINUTES, Envelope, Excess, envelope, excess, stopped_s

__all__ = ["MINUTES", "Connection", "Envelope", "Excess", "envelope", "excess", "find", "stopped_s"]
