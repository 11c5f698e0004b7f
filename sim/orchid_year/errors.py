"""The one error that people meet: what they gave can't be used, said in a sentence that no file can misuse."""

from __future__ import annotations

_LONGEST = 599  # signs that a person reads before giving up


def shown(what: object, most: int = 60) -> str:
    """Something given as a sentence may quote it: what is long is cut, and signs that a terminal would act on are spelt out."""
    try:
        text = harmless(what if isinstance(what, str) else repr(what))
    except ValueError:  # Python refuses to write out whole numbers of thousands of digits
        return "a number of thousands of digits"
    return text if len(text) <= most else f"{text[: most - 3]}..."


def harmless(text: str) -> str:
    """Text in which control characters, half signs and the like are spelt out by their codes; line breaks and blanks stay."""
    return "".join(
        sign if sign.isprintable() or sign in "\n\xa0\u202f" else sign.encode("unicode_escape").decode()
        for sign in text
    )


class InputError(ValueError):
    """Something given to Orchid Year can't be used; the message says what, why and what to do."""

    def __init__(self, words: str) -> None:
        super().__init__(shown(words, _LONGEST))
