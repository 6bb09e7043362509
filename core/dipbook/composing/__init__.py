"""From the books and the watch to what a page is given. Pure: the same books, watch and time give the same picture."""

from dipbook.composing.parts import parts_of
from dipbook.composing.picture import Seen, picture, seen, with_doubts, with_journal
from dipbook.composing.resuming import journal, resumed
from dipbook.composing.telling import doing, gaps, struck_from
from dipbook.composing.trip_view import preview
from dipbook.composing.warning_story import warning_story
from dipbook.composing.warning_views import aside_views, next_round_due, warning_views
from dipbook.composing.watched_map import watched_map

__all__ = ["Seen", "aside_views", "doing", "gaps", "journal", "next_round_due", "parts_of", "picture", "preview",
           "resumed", "seen", "struck_from", "warning_story", "warning_views", "watched_map", "with_doubts",
           "with_journal"]
