"""The caution, in one place. It stands wherever a warning does and can't be dismissed for good."""

from __future__ import annotations

CAUTION = (
    "This log is an aid. It is not a well-control or safety system and may be late, incomplete or wrong. "
    "Follow the rig's own well-control procedures. Anyone authorised by them may stop work, flow-check or "
    "shut in without waiting for this log. If in doubt, act as they say. "
    "A quiet screen does not mean a stable well."
)

FLOW_CHECK = "flow-check as the rig's own procedures say"
"""What to do about flow that wasn't expected: never more than the rig's own procedures."""

RETURN_FLOW = (
    "Return flow usually shows a kick first. This log does not see return flow unless it is given it."
)
NOTHING_SUPPRESSED = "Called out; nothing is suppressed"
"""Said of a gauge that can't be trusted."""
