"""Forms for the log's entries and limits, generated from the core's tables."""
