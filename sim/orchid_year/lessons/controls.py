"""What a learner may set: made from the metadata of the parameters (ranges, units, words), never typed in twice."""

from __future__ import annotations

import typing
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

from pydantic import BaseModel, JsonValue
from pydantic.fields import FieldInfo

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
    choices: tuple[JsonValue, ...]  # every value it can take, in order
    unit: str
    value: JsonValue  # where it starts
    state: Shown = "shown"

    def accept(self, value: JsonValue) -> JsonValue:
        """The value as one of the choices; InputError for anything else."""
        for choice in self.choices:
            if value == choice and isinstance(value, bool) == isinstance(choice, bool):
                return choice
        listed = ", ".join(self.say(choice) for choice in self.choices[:12])
        raise InputError(f"'{self.words}' can't be {value!r}. Please choose one of: {listed}.")

    def say(self, value: JsonValue, units: str = "metric", south: bool = False) -> str:
        """A value in words, with its unit in the reader's system; a date six months on in the south."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, str):
            return _words_said(value, south)
        if self.unit == LIGHT_UNIT:
            return light_in_words(value, units)
        shown, unit = convert(value, self.unit, units)
        return f"{shown:.3g} {'' if unit == 'share' else unit}".strip()


class _Setting(NamedTuple):
    """One setting of a scenario, with what its field says of itself."""

    value: JsonValue
    field: FieldInfo
    words: str
    meta: Mapping[str, JsonValue]  # unit and range; empty where it is no quantity


def _words_said(value: str, south: bool) -> str:
    """A date or a name as people say it, on that half of the earth."""
    if not south:
        return spoken_date(value)
    return spoken_date(half_a_year_on(value)) if value[:1].isdigit() else in_the_south(value)


def control(scenario: Scenario, spec: Mapping[str, JsonValue]) -> Control:
    """A control from a lesson's line: {path, words, low, high, step, choices, state}, the rest from the setting's own metadata.

    Raises  InputError for an unknown setting, a range wider than the setting's own, or a start outside it.
    """
    path, state = spec["path"], spec.get("state", "shown")
    if path in _PRESETS:
        return _preset_control(scenario, path, spec)
    setting = _setting(scenario, path)
    value, choices = setting.value, _choices(scenario, path, setting, spec)
    is_number = bool(setting.meta) and "choices" not in spec
    kind = "yes or no" if choices == (False, True) else "number" if is_number else "choice"
    nearest = min(choices, key=lambda one: abs(one - value)) if kind == "number" and value is not None else value
    start = nearest if nearest in choices else choices[0]
    unit, words = str(setting.meta.get("unit", "")), spec.get("words", setting.words)
    made = Control(path, words, kind, choices, unit, start, state)
    return replace(made, value=made.accept(start))


def _preset_control(scenario: Scenario, path: str, spec: Mapping[str, JsonValue]) -> Control:
    """A control that picks a whole climate, home or plan by its name."""
    preset_kind, words = _PRESETS[path]
    choices = tuple(spec.get("choices") or preset_names(preset_kind))
    value = getattr(scenario, path).name
    start = value if value in choices else choices[0]
    return Control(path, spec.get("words", words), "choice", choices, "", start, spec.get("state", "shown"))


def _setting(scenario: Scenario, path: str) -> _Setting:
    """A setting by its path, such as 'care.watering.every_days'; InputError with the nearest name."""
    here: object = scenario
    field: FieldInfo | None = None
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
    return _Setting(here, field, str(field.description or path), meta if "unit" in meta else {})


def _choices(scenario: Scenario, path: str, setting: _Setting, spec: Mapping[str, JsonValue]) -> tuple[JsonValue, ...]:
    """Every value that a control can take: as the lesson lists them, or as the setting's own type and range have it."""
    if "choices" in spec:
        return tuple(spec["choices"])
    if path == "spot" or path.endswith(".spot"):
        return tuple(scenario.home.spots)
    annotation = setting.field.annotation
    if annotation is bool:
        return (False, True)
    names = [
        value
        for kind in (annotation, *typing.get_args(annotation))
        for value in typing.get_args(kind)
        if isinstance(value, str)
    ]
    if names:
        return tuple(names)
    if setting.meta:
        return _steps(path, spec, setting.meta, whole=annotation is int)
    raise InputError(f"'{path}' can't be made into a control; the lesson has to list its choices.")


def _steps(
    path: str, spec: Mapping[str, JsonValue], meta: Mapping[str, JsonValue], *, whole: bool
) -> tuple[float, ...]:
    """A range in steps, twenty where the lesson names none; InputError where it is wider than the setting's own."""
    low, high = float(spec.get("low", meta["low"])), float(spec.get("high", meta["high"]))
    if low < meta["low"] or high > meta["high"] or low >= high:
        raise InputError(
            f"'{path}' must lie from {meta['low']:g} to {meta['high']:g} (the lesson says {low:g} to {high:g})."
        )
    step = float(spec.get("step", 1 if whole else (high - low) / 20))
    count = round((high - low) / step)
    values = tuple(round(low + step * number, 6) for number in range(count + 1))
    return tuple(int(value) for value in values) if whole else values
