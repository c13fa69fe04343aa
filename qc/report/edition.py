"""For whom a report is: the crew, or the outlet that it is sent to."""

from __future__ import annotations

from enum import StrEnum


class Edition(StrEnum):
    """INTERNAL has everything. OUTLET has no local path, no other outlet's name and no internal remark
    (who waived what and why, what else to change in the house): limits with the outlet's own clause numbers."""

    INTERNAL = "internal"
    OUTLET = "outlet"
