"""Why something of a critique is refused; the message is a sentence for who asked."""


class CritiqueError(ValueError):
    """What was asked cannot be done; nothing was changed."""


class Elsewhere(CritiqueError):  # noqa: N818  the name is what a view asks for
    """The box was written in another window since; nothing was overwritten.

    ``theirs`` is the remark as it stands.
    """

    def __init__(self, theirs):
        self.theirs = theirs
        super().__init__(
            "This box was written in another window since. Nothing was overwritten: "
            "choose which words stand."
        )
