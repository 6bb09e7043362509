"""The names of the pages, as the rail shows them."""

from __future__ import annotations

START, WATCH, ROUND, LINE_UP, LOG, LIMITS, TRIP = "Start", "Watch", "Round", "Line-up", "Log", "Limits", "Trip"
CONNECTIONS, RIG, WARNINGS, DRILL, REVIEW = "Connections", "Rig", "Warnings", "Drill", "Review"
OWN_KEYS = {WARNINGS: "Shift+F8", DRILL: "Shift+F9", REVIEW: "Ctrl+E"}
"""Pages with a key of their own: the others have Ctrl and a figure, by their places without these."""
