"""The names of the pages, as the rail shows them."""

from __future__ import annotations

START, WATCH, ROUND, LINE_UP, LOG, LIMITS, TRIP = "Start", "Watch", "Round", "Line-up", "Log", "Limits", "Trip"
CONNECTIONS, RIG = "Connections", "Rig"
