"""What limits stood when, who set them and why; the set that a person approved; and what differs from it since.

Everything here follows from the log: from the rig texts it has adopted and its entries of the kind "limits approved".
"""

from dipbook.limit_record.approved import (
    DIFFERENT,
    EXTRA,
    MISSING,
    NO_RECORD,
    Approved,
    Difference,
    LimitsRecord,
    approval,
    approved,
    differences,
    last_handover,
)
from dipbook.limit_record.history import (
    BACK_IN_SERVICE,
    OFF_THE_SHELF,
    OUT_OF_SERVICE,
    SHELVED,
    AsideChange,
    Change,
    Stood,
    changes,
    history,
    limits_of,
    replayed,
)

__all__ = ["BACK_IN_SERVICE", "DIFFERENT", "EXTRA", "MISSING", "NO_RECORD", "OFF_THE_SHELF", "OUT_OF_SERVICE",
           "SHELVED", "Approved", "AsideChange", "Change", "Difference", "LimitsRecord", "Stood", "approval",
           "approved", "changes", "differences", "history", "last_handover", "limits_of", "replayed"]
