"""What to know beside a number, as a code and the numbers that belong to it; `words` speaks it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A reservation or an assumption, before it is put into words."""

    code: Enum
    facts: Mapping[str, Any] = field(default_factory=dict)  #: what its sentence tells
