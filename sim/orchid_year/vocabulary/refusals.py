"""Refusals in one clear sentence: what must be what, with its unit, what was given, and what to do."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel, ValidationError

from ..errors import shown

_UNITLESS = {"", "share"}
_MOST_CHOICES = 300  # signs of a list of choices; a home may have hundreds of spots
_MOST_FAULTS = 440  # signs after which further faults are only counted


def did_you_mean(name: str, choices: Iterable[str]) -> str:
    """' Did you mean …?' for the nearest choice, else the list of choices."""
    choices = [shown(choice) for choice in choices]
    near = difflib.get_close_matches(shown(name).lower(), [c.lower() for c in choices], n=1, cutoff=0.6)
    if near:
        return f" Did you mean '{next(c for c in choices if c.lower() == near[0])}'?"
    return f" Choose one of: {shown(', '.join(choices), _MOST_CHOICES)}." if choices else ""


def explain_refusal(error: ValidationError, model: type[BaseModel], where: str = "") -> str:
    """One sentence for each fault pydantic found, joined by line breaks; a list with too few items is one fault.

    After a few lines the rest is only counted: nobody mends a hundred faults at once.
    """
    told: dict[str, None] = {}
    for fault in error.errors():
        if fault["type"] == "missing" and fault["loc"] and isinstance(fault["loc"][-1], int):
            given = fault.get("input")
            fault = fault | {"type": "list_length", "loc": fault["loc"][:-1], "input": given}
        told[_sentence(fault, model, where)] = None
    lines = list(told)
    read = [
        line for number, line in enumerate(lines) if not number or len("\n".join(lines[: number + 1])) <= _MOST_FAULTS
    ]
    more = len(lines) - len(read)
    return "\n".join([*read, *([f"So much for the first; {more} more can't be used either."] if more else [])])


_NUMBERS = {"greater_than_equal", "less_than_equal", "float_type", "float_parsing", "int_parsing", "int_type", "int_from_float", "int_parsing_size", "finite_number"}  # fmt: skip
_FORMS = {  # kind of fault, up to the first that fits -> what must stand there
    "bool_": "true or false",
    "model_": "a table of settings, or the name of one where names are listed by `orchid-year places`",
    "dict_": "a table of settings",
    "tuple_": "a list, in square brackets",
    "list_type": "a list, in square brackets",
    "list_length": "a list with as many items as are asked for",
    "too_long": "a list with no more items than are asked for",
    "date_": "a day of the calendar, such as 2025-06-01",
    "control_sign": "words without line breaks or control characters",
    "string_": "words in quotes",
}


def _sentence(fault: dict[str, Any], model: type[BaseModel], where: str) -> str:
    path = ".".join(shown(str(step), 40) for step in fault["loc"])
    name = shown(f"{where}.{path}" if where and path else (where or path), 120)
    given, kind, context = _shortly(fault.get("input")), fault["type"], fault.get("ctx", {})
    extra, siblings = _metadata(model, fault["loc"])
    if kind == "extra_forbidden":
        return f"{name} is not a setting.{did_you_mean(str(fault['loc'][-1]), siblings)}"
    if kind in _NUMBERS:
        what = "a whole number" if kind.startswith("int") else "a number"
        if extra:
            unit = "" if extra["unit"] in _UNITLESS else f" {extra['unit']}"
            what = f"{what} from {_plainly(extra['low'])} to {_plainly(extra['high'])}{unit}"
        return f"{name} must be {what} (got {given}). Please change it."
    if kind in ("literal_error", "union_tag_invalid"):
        expected = context.get("expected") or context.get("expected_tags", "")
        choices = [c.strip().strip("'") for c in expected.replace(" or ", ", ").split(", ")]
        chosen = context.get("tag", fault.get("input"))
        return f"{name} must be one of the named choices (got {_shortly(chosen)}).{did_you_mean(str(chosen), choices)}"
    if kind in ("missing", "union_tag_not_found"):
        lacking = f"{name}.do" if kind == "union_tag_not_found" else name
        return f"{lacking} is missing. Please add it."
    if kind == "value_error":
        return f"{name + ': ' if name else ''}{context['error']}"
    form = next((words for start, words in _FORMS.items() if kind.startswith(start)), "something else")
    return f"{name} must be {form} (got {given}). Please change it."


def _shortly(given: Any) -> str:
    """What was given, words in quotes."""
    return f"'{shown(given, 58)}'" if isinstance(given, str) else shown(given)


def _plainly(number: float) -> str:
    """A bound without an exponent: 2147483648 rather than 2.14748e+09."""
    return f"{number:.0f}" if float(number).is_integer() else f"{number:g}"


def _metadata(model: type[BaseModel], path: tuple[Any, ...]) -> tuple[dict[str, Any], list[str]]:
    """The quantity metadata at the end of a path, and the names beside it."""
    here: Any = model
    for step in path[:-1]:
        here = _inner_model(here, step)
        if here is None:
            return {}, []
    if not (isinstance(here, type) and issubclass(here, BaseModel)):
        return {}, []
    field = here.model_fields.get(str(path[-1])) if path else None
    extra = field.json_schema_extra if field is not None and isinstance(field.json_schema_extra, dict) else {}
    return (extra if "unit" in extra else {}), list(here.model_fields)


def _inner_model(model: Any, step: Any) -> Any:
    """The model one step further along a path: through a field, a tuple item, a dictionary value or a union tag."""
    if isinstance(model, type) and issubclass(model, BaseModel):
        field = model.model_fields.get(str(step))
        return _first_models(field.annotation, step) if field is not None else None
    if isinstance(model, list):
        if isinstance(step, int):
            return model if len(model) > 1 else model[0]
        for candidate in model:
            tag = candidate.model_fields.get("do")
            if tag is not None and tag.default == step:
                return candidate
        return model[0]
    return None


def _first_models(annotation: Any, step: Any) -> Any:
    found = _models_in(annotation)
    if not found:
        return None
    text = str(annotation)
    return found if ("tuple" in text or "dict" in text) else found[0]


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for part in getattr(annotation, "__args__", ()) for m in _models_in(part)]
