"""What a learner may set: made from the metadata of the parameters (ranges, units, words), never typed in twice."""

from __future__ import annotations

import typing
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import BaseModel

from ..errors import InputError
from ..scenario.hemisphere import half_a_year_on, in_the_south
from ..scenario.presets import preset_names
from ..scenario.scenario import Scenario
from ..vocabulary.dates import spoken_date
from ..vocabulary.refusals import did_you_mean
from ..vocabulary.units import LIGHT_UNIT, convert, light_in_words

Shown = Literal["shown", "locked", "hidden"]
_PRESETS = {
    "climate": ("climates", "where you live"),
    "home": ("homes", "the home"),
    "care": ("plans", "way of caring"),
}


@dataclass(frozen=True)
class Control:
    """One thing to set: a choice, a number in steps, or yes and no."""

    path: str
    words: str
    kind: Literal["choice", "number", "yes or no"]
    choices: tuple[Any, ...]  # every value it can take, in order
    unit: str
    value: Any  # where it starts
    state: Shown = "shown"

    def accept(self, value: Any) -> Any:
        """The value as one of the choices; InputError for anything else."""
        for choice in self.choices:
            if value == choice and isinstance(value, bool) == isinstance(choice, bool):
                return choice
        listed = ", ".join(self.say(choice) for choice in self.choices[:12])
        raise InputError(f"'{self.words}' can't be {value!r}. Please choose one of: {listed}.")

    def say(self, value: Any, units: str = "metric", south: bool = False) -> str:
        """A value in words, with its unit in the reader's system; a date six months on in the south."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, str):
            return (
                spoken_date(half_a_year_on(value))
                if south and value[:1].isdigit()
                else in_the_south(value)
                if south
                else spoken_date(value)
            )
        if self.unit == LIGHT_UNIT:
            return light_in_words(value, units)
        shown, unit = convert(value, self.unit, units)
        return f"{shown:.3g} {'' if unit == 'share' else unit}".strip()


def control(scenario: Scenario, spec: dict[str, Any]) -> Control:
    """A control from a lesson's line: {path, words, low, high, step, choices, state}, the rest from the setting's own metadata.

    Raises  InputError for an unknown setting, a range wider than the setting's own, or a start outside it.
    """
    path, state = spec["path"], spec.get("state", "shown")
    if path in _PRESETS:
        kind, words = _PRESETS[path]
        choices = tuple(spec.get("choices") or preset_names(kind))
        value = getattr(scenario, path).name
        return Control(
            path, spec.get("words", words), "choice", choices, "", value if value in choices else choices[0], state
        )
    value, field, words, meta = _setting(scenario, path)
    words = spec.get("words", words)
    choices = _choices(scenario, path, field, spec, meta)
    kind = "yes or no" if choices == (False, True) else "number" if meta and "choices" not in spec else "choice"
    made = Control(path, words, kind, choices, str(meta.get("unit", "")), value, state)
    nearest = min(choices, key=lambda one: abs(one - value)) if kind == "number" and value is not None else value
    if nearest not in choices:
        nearest = choices[0]
    return Control(path, words, kind, choices, made.unit, made.accept(nearest), state)


def _setting(scenario: Scenario, path: str) -> tuple[Any, Any, str, dict[str, Any]]:
    """Value, field, words and metadata of a setting by its path."""
    here: Any = scenario
    field = None
    for step in path.split("."):
        if isinstance(here, BaseModel):
            if step not in type(here).model_fields:
                raise InputError(f"'{path}' is not a setting.{did_you_mean(step, type(here).model_fields)}")
            field = type(here).model_fields[step]
            here = getattr(here, step)
        elif isinstance(here, dict) and step in here:
            here = here[step]
        elif isinstance(here, tuple) and step.isdigit() and int(step) < len(here):
            here = here[int(step)]
        else:
            raise InputError(f"'{path}' is not a setting.{did_you_mean(step, here if isinstance(here, dict) else [])}")
    meta = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
    return here, field, str(field.description or path), meta if "unit" in meta else {}


def _choices(scenario: Scenario, path: str, field: Any, spec: dict[str, Any], meta: dict[str, Any]) -> tuple[Any, ...]:
    if (path == "spot" or path.endswith(".spot")) and "choices" not in spec:
        return tuple(scenario.home.spots)
    if "choices" in spec:
        return tuple(spec["choices"])
    if field.annotation is bool:
        return (False, True)
    literals = [
        value
        for part in (field.annotation, *typing.get_args(field.annotation))
        for value in typing.get_args(part)
        if isinstance(value, str)
    ]
    if literals:
        return tuple(literals)
    if meta:
        return _steps(path, spec, meta, whole=field.annotation is int)
    raise InputError(f"'{path}' can't be made into a control; the lesson has to list its choices.")


def _steps(path: str, spec: dict[str, Any], meta: dict[str, Any], *, whole: bool) -> tuple[float, ...]:
    low, high = float(spec.get("low", meta["low"])), float(spec.get("high", meta["high"]))
    if low < meta["low"] or high > meta["high"] or low >= high:
        raise InputError(
            f"'{path}' must lie from {meta['low']:g} to {meta['high']:g} (the lesson says {low:g} to {high:g})."
        )
    step = float(spec.get("step", 1 if whole else (high - low) / 20))
    count = round((high - low) / step)
    values = tuple(round(low + step * number, 6) for number in range(count + 1))
    return tuple(int(value) for value in values) if whole else values
