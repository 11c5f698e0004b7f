"""What is shipped as data (climates, homes, care plans, questions, lessons, exercises, mysteries), and TOML files of one's own."""

from __future__ import annotations

import datetime as dt
import tomllib
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from ..errors import InputError, shown
from ..files import text_of
from ..vocabulary.refusals import did_you_mean, explain_refusal

_MOST_BITS = 1000  # of a whole number: no setting has more than 32
Model = TypeVar("Model", bound=BaseModel)


def read_toml(path: str | Path) -> dict[str, Any]:
    """A TOML file as a dictionary; InputError naming file and line when it is not TOML."""
    name = shown(str(path), 160)
    try:
        return _dates_as_text(tomllib.loads(text_of(Path(path).read_bytes())))
    except FileNotFoundError:
        raise InputError(f"There is no file '{name}'. Please check the name and the folder.") from None
    except UnicodeDecodeError:
        raise InputError(f"'{name}' is not a text file. Please choose a TOML file.") from None
    except OSError as fault:
        raise InputError(f"'{name}' can't be read ({fault.strerror}). Please choose a TOML file.") from None
    except RecursionError:
        raise InputError(f"'{name}' has tables within tables beyond counting. Please choose a scenario file.") from None
    except tomllib.TOMLDecodeError as fault:
        raise InputError(f"'{name}' is not a TOML file: {shown(str(fault), 160)}. Please mend that line.") from None
    except ValueError:  # a NUL in the file's name, or a number of thousands of digits in it
        raise InputError(
            f"'{name}' has a sign or a number in it that can't be read. Please choose another file."
        ) from None


def _dates_as_text(value: Any) -> Any:
    """Dates that stand in a file without quotes, as TOML allows, in the form that all settings take; ValueError for an endless number."""
    if isinstance(value, dict):
        return {key: _dates_as_text(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_dates_as_text(one) for one in value]
    if isinstance(value, int) and value.bit_length() > _MOST_BITS:
        raise ValueError("Python itself stumbles over a number of thousands of digits")
    return value.isoformat() if isinstance(value, dt.date) else value


def preset_names(kind: str) -> list[str]:
    """Names of the shipped presets of one kind: climates, homes, plans, questions, mixes, lessons, exercises or mysteries."""
    folder = resources.files("orchid_year") / "presets" / kind
    return sorted(
        item.name.removesuffix(".toml").replace("_", " ") for item in folder.iterdir() if item.name.endswith(".toml")
    )


def preset(kind: str, name: str) -> dict[str, Any]:
    """One shipped preset as a dictionary; hyphens and blanks are alike. InputError with the nearest name when there is none."""
    wanted, names = name.replace("-", " "), preset_names(kind)
    if wanted not in names:
        raise InputError(f"There is no {_singular(kind)} '{shown(name)}'.{did_you_mean(wanted, names)}")
    item = resources.files("orchid_year") / "presets" / kind / f"{wanted.replace(' ', '_')}.toml"
    try:
        return _dates_as_text(tomllib.loads(item.read_text(encoding="utf-8")))
    except ValueError:  # not TOML, or not even text
        raise InputError(
            f"The shipped {_singular(kind)} '{wanted}' is damaged. Please install Orchid Year again."
        ) from None


@lru_cache(maxsize=128)
def load_preset(kind: str, name: str, model: type[Model]) -> Model:
    """One shipped preset as the model that its kind is read into, with its name; hyphens and blanks are alike.

    Raises  InputError with the nearest name where there is none, or in words where the file is not of that form.
    """
    wanted = name.replace("-", " ")
    try:
        return model(name=wanted, **preset(kind, name))
    except ValidationError as error:
        raise InputError(explain_refusal(error, model, f"{_singular(kind)} {wanted}")) from None


def _singular(kind: str) -> str:
    return f"{kind.removesuffix('ies')}y" if kind.endswith("ies") else kind.removesuffix("s")
