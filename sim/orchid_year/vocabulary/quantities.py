"""Numbers that know their unit, range, source and how sure we are.

The same metadata makes the check on input, the control on a screen, the table in the docs and the axis label, so that
the four cannot drift apart.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import InitErrorDetails, PydanticCustomError

from ..errors import harmless

Evidence = Literal["measured", "common practice", "from memory", "judged for teaching"]


class Part(BaseModel):
    """A frozen piece of a scenario: unknown names are refused, nothing is coerced to infinity, and no word can steer a terminal."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True)

    @model_validator(mode="before")
    @classmethod
    def _as_meant(cls, given: Any) -> Any:
        """`true` is no number, though Python counts with it; words hold no signs that a terminal would act on."""
        faults = [
            InitErrorDetails(type=PydanticCustomError(kind, "not as meant"), loc=(name,), input=given[name])
            for name, field in cls.model_fields.items()
            if isinstance(given, dict) and name in given and (kind := _not_as_meant(given[name], field.annotation))
        ]
        if faults:
            raise ValidationError.from_exception_data(cls.__name__, faults)
        return given

    def __hash__(self) -> int:
        """By what it holds, tables included, so that results can be kept for a home or a scenario."""
        return hash((type(self), *(_hashable(value) for value in self.__dict__.values())))


def _not_as_meant(value: Any, annotation: Any) -> Literal["int_type", "float_type", "control_sign", ""]:
    """The kind of fault that pydantic alone would let pass, empty where there is none."""
    kinds = set(get_args(annotation)) or {annotation}  # {float, NoneType} of `float | None`
    if isinstance(value, bool) and kinds & {int, float}:
        return "int_type" if int in kinds else "float_type"
    steers = str in kinds and isinstance(value, str) and ("\n" in value or value != harmless(value))
    return "control_sign" if steers else ""


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
