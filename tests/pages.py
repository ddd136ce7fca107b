"""Pages as their readers see them: how a template breaks its lines is nobody's business."""

import re

SPACE = "[ \t\r\n\f]+"
"""What a browser shows as one space; one that must not break is none of it."""


def page_text(response) -> str:
    """The markup of an answer or of a rendered fragment, on one line: a run of white space is one
    space, as in a browser, and between two tags or at an element's edge there is none."""
    markup = response if isinstance(response, str) else response.content.decode()
    line = re.sub(r"> <", "><", re.sub(SPACE, " ", markup))
    return re.sub(r"(<[a-z][^<>]*>) | (?=</)", r"\1", line)
