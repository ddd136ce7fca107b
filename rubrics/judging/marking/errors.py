"""Why a write is refused, each with a sentence for a teacher."""

from datetime import datetime


class GradingError(ValueError):
    """A write that is refused; the message is a sentence for a teacher."""


class WhyWanted(GradingError):  # noqa: N818  the name is what a view asks for
    """The assessment is published: a change needs a word on why."""


class ReasonWanted(GradingError):  # noqa: N818  the name is what a view asks for
    """A published level that leaves the suggestion needs its reason along with it."""


class Unseen(GradingError):  # noqa: N818  the name is what a view asks for
    """Undo would touch marks that the page does not show; nothing was taken back.

    ``words`` and ``detail`` say what it would take back, ``latest`` names the change, to be sent
    along once a person is sure.
    """

    def __init__(self, *, words: str, detail: str, latest: int):
        self.words, self.detail, self.latest = words, detail, latest
        super().__init__(f"{words} {detail}")


class Stale(GradingError):  # noqa: N818  the name is what a view asks for
    """Somebody changed this since the page was opened; nothing was overwritten.

    ``theirs`` is what stands now and ``mine`` what was asked for, both as
    :func:`state_of_mark` gives them (or as {"words", "next_step"}); ``version`` is the one to
    send along to have mine all the same.
    """

    def __init__(
        self, *, theirs: dict, mine: dict, version: int, who: str = "", at: datetime | None = None
    ):
        self.theirs, self.mine, self.version, self.who, self.at = theirs, mine, version, who, at
        super().__init__(
            f"{who or 'Another window'} changed this since you opened it. "
            "Nothing was overwritten: choose which one stands."
        )
