"""What mud and brine do when something is mixed into them."""

from dipbook.mud.salts import NAMES, SaltError, find, most_percent, percent_after, volume_increase

__all__ = ["NAMES", "SaltError", "find", "most_percent", "percent_after", "volume_increase"]
