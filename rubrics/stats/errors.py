"""The one error of the statistics."""


class CannotTellError(ValueError):
    """The data cannot carry the answer; the message says why, and what would, to a teacher."""
