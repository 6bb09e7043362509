"""The rig: its file (document), what the engine sees of it (model), and what changed between two (changes)."""
