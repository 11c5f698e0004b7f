"""The one error that people meet: what they gave can't be used, said in a sentence."""


class InputError(ValueError):
    """Something given to Orchid Year can't be used; the message says what, why and what to do."""
