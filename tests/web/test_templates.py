"""Templates as text: lines that fit an editor, and forms whose Enter does what it seems to do."""

import re
from pathlib import Path

import pytest

from studio import settings

LONGEST = 160
"""Our choice: two lines of a template stand side by side on a wide screen."""

TEMPLATES = sorted(
    path
    for app in ("studio", "rubrics")
    for path in (Path(settings.BASE_DIR) / app / "templates").rglob("*")
    if path.suffix in (".html", ".svg", ".txt")
)
FORM = re.compile(r"<form\b.*?</form>", re.DOTALL)
BUTTON = re.compile(r"<(?:button|input)\b[^>]*>", re.DOTALL)
FIELD = re.compile(
    r'<input\b(?![^>]*type="(?:hidden|checkbox|radio|submit|file)")'
    r"|\|\s*(?:crispy|as_crispy_field)|{{ form"
)
"""Where a cursor can stand: an input of one line, written out or rendered."""
NAMED = re.compile(r'\bname="([^"]+)"')


def name_of(path) -> str:
    return str(path.relative_to(settings.BASE_DIR))


def submits(form: str) -> list[str]:
    """The buttons of a form by which a browser may send it."""
    buttons = []
    for tag in BUTTON.findall(form):
        is_button = tag.startswith("<button") and 'type="button"' not in tag
        is_input = 'type="submit"' in tag or 'type="image"' in tag
        if is_button or is_input:
            buttons.append(tag)
    return buttons


def test_there_are_templates_to_look_at():
    assert len(TEMPLATES) > 100


@pytest.mark.parametrize("path", TEMPLATES, ids=name_of)
def test_no_line_is_too_long(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    long = [number for number, line in enumerate(lines, 1) if len(line) > LONGEST]
    assert long == []


@pytest.mark.parametrize("path", TEMPLATES, ids=name_of)
def test_enter_in_a_field_never_chooses_among_several_buttons(path):
    """A browser sends a form by its first submit button when Enter is pressed in a field.

    A form with a text field may have several only where the first one carries no value: then Enter
    does the plain thing and none of the choices (WHATWG HTML, implicit submission).
    """
    for form in FORM.findall(path.read_text(encoding="utf-8")):
        buttons = submits(form)
        if len(buttons) > 1 and FIELD.search(form):
            assert not NAMED.search(buttons[0]), buttons[0]
