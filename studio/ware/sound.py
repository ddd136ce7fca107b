"""Whether words from a file can be kept: JSON can spell signs that no text has."""


def is_sound(said) -> bool:
    """Whether no text in a JSON value holds a NUL or half of a sign (a lone surrogate).

    Neither can be written as UTF-8 into a database, and nobody wrote it on purpose.
    """
    waiting = [said]
    while waiting:
        each = waiting.pop()
        if isinstance(each, str):
            if "\0" in each or any("\ud800" <= sign <= "\udfff" for sign in each):
                return False
        elif isinstance(each, dict):
            waiting += [*each.keys(), *each.values()]
        elif isinstance(each, list | tuple):
            waiting += each
    return True
