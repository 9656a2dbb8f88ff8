"""The one tree of errors: everything here is worded for the reader."""


class WesteringError(Exception):
    """Something the reader can be told; ``str(error)`` is the sentence shown.

    Parameters
    ----------
    message : str
        What came, what was expected and how to mend it, in one line.
    field : str, optional
        The name of the input that the sentence belongs to.
    """

    def __init__(self, message: str, field: str | None = None) -> None:
        super().__init__(message)
        self.field = field


class BadInput(WesteringError):
    """What was typed, sent or loaded cannot be used."""


class TooLarge(BadInput):
    """What was sent is bigger than the stated limit."""


class NotFound(WesteringError):
    """What was asked for is not here."""


class Conflict(WesteringError):
    """Somebody, or another tab, changed the same thing in between."""


class Unavailable(WesteringError):
    """Something outside that is needed does not answer."""
