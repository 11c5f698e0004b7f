"""The one line in each notebook: `start("03")` puts that lesson on the screen, and never a traceback."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from .errors import InputError
from .scenario.presets import preset_names
from .screens.saved_work import work_folder

if TYPE_CHECKING:
    from ipywidgets import VBox

    from .screens.screen import Desk


def start(lesson: str) -> VBox | Sentence:
    """The screen of a lesson, '01' to '09'; a sentence instead where it can't be shown."""
    try:
        return _desk(lesson).root
    except InputError as fault:
        return Sentence(str(fault))
    except ImportError as fault:
        return Sentence(
            f"The workshop needs a part that is not installed ({fault.name}). Please run: pip install 'orchid-year[workshop]'"
        )
    except Exception as fault:  # a learner must never meet a traceback
        return Sentence(
            f"Sorry, this lesson can't start here ({fault.__class__.__name__}). Please run the ready check: orchid-year check"
        )


def homework(club: str, nickname: str, names: list[str]) -> VBox | Sentence:
    """The screen of one learner's homework; a sentence instead where it can't be shown."""
    try:
        from .screens.homework_screen import HomeworkDesk

        return HomeworkDesk(club, nickname, names, work_folder(os.environ)).root
    except InputError as fault:
        return Sentence(str(fault))
    except Exception as fault:  # a learner must never meet a traceback
        return Sentence(
            f"Sorry, the homework can't start here ({fault.__class__.__name__}). Please run the ready check: orchid-year check"
        )


def _desk(lesson: str) -> Desk:
    folder = work_folder(os.environ)
    if lesson == "07":
        from .screens.month_screen import MonthDesk

        return MonthDesk(folder)
    if lesson == "08":
        from .screens.mystery_screen import MysteryDesk

        return MysteryDesk(folder)
    if lesson == "09":
        from .screens.own_window_screen import OwnDesk

        return OwnDesk(folder)
    if lesson not in preset_names("lessons"):
        raise InputError(f"There is no lesson '{lesson}'. The lessons are 01 to 09.")
    from .screens.lesson_screen import Bench

    return Bench(lesson, folder)


class Sentence:
    """Words in place of a screen, as text and as HTML."""

    def __init__(self, words: str) -> None:
        self.words = words

    def __repr__(self) -> str:
        return self.words

    def _repr_html_(self) -> str:
        from .pages import fill

        return fill("screens/sentence.html", words=self.words)
