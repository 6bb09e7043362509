"""From the books and the watch to what a page is given. Pure: the same books, watch and time give the same picture."""

from dipbook.composing.picture import Seen, picture, seen
from dipbook.composing.warning_views import next_round_due, warning_views

__all__ = ["Seen", "next_round_due", "picture", "seen", "warning_views"]
