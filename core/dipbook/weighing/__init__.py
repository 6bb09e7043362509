"""What a limit would have cost in this log's own quiet hours, and what it would catch. It proposes no limit."""

from dipbook.weighing.catching import Caught
from dipbook.weighing.counting import Cost, poisson_interval
from dipbook.weighing.quiet import APART, EVENT, NOT_ACTIVE, PARTIAL, UNKNOWN, UNWATCHED, Quiet, quiet_rows
from dipbook.weighing.weighed import CATCHES, WEIGHED, Weighed, weigh

__all__ = ["APART", "CATCHES", "EVENT", "NOT_ACTIVE", "PARTIAL", "UNKNOWN", "UNWATCHED", "WEIGHED", "Caught", "Cost",
           "Quiet", "Weighed", "poisson_interval", "quiet_rows", "weigh"]
