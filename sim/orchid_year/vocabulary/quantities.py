"""Numbers that know their unit, range, source and how sure we are.

The same metadata makes the check on input, the control on a screen, the table in the docs and the axis label, so that
the four cannot drift apart.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Evidence = Literal["measured", "common practice", "from memory", "judged for teaching"]


class Part(BaseModel):
    """A frozen piece of a scenario: unknown names are refused, nothing is coerced to infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True)

    def __hash__(self) -> int:
        """By what it holds, tables included, so that results can be kept for a home or a scenario."""
        return hash((type(self), *(_hashable(value) for value in self.__dict__.values())))


def _hashable(value: object) -> Hashable:
    if isinstance(value, dict):
        return tuple((key, _hashable(one)) for key, one in value.items())
    return tuple(_hashable(one) for one in value) if isinstance(value, list | tuple) else value


def quantity(
    default: Any,
    unit: str,
    low: float,
    high: float,
    meaning: str,
    source: str = "",
    evidence: Evidence = "judged for teaching",
) -> Any:
    """A number field with unit, range, one-line meaning, source key and grade of evidence."""
    return Field(
        default,
        ge=low,
        le=high,
        description=meaning,
        json_schema_extra={"unit": unit, "low": low, "high": high, "source": source, "evidence": evidence},
    )
