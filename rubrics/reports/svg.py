"""A scene as inline SVG: presentation attributes and classes only, every word escaped."""

from __future__ import annotations

from html import escape
from unicodedata import category

from .palette import LOOKS, TEXT_ROLES
from .scene import Circle, Line, Mark, Path, Rect, Scene, Text, bezier

FONT_FAMILY = "Rim Sans, Rim Sans until then, system-ui, sans-serif"
STRONG_WEIGHT = 600

FORBIDDEN = ("Cc", "Cs", "Cn")
"""Controls, halves of surrogate pairs and non-characters: XML 1.0 knows no way to write them."""


def to_svg(scene: Scene, *, title: str, desc: str, uid: str = "drawing") -> str:
    """Write a scene as one ``<svg>`` element.

    Parameters
    ----------
    scene : Scene
    title, desc : str
        What it is, and what it shows, for who cannot see it.
    uid : str
        Makes the ids of title and description unique on the page, as in "p12-rim_level".

    Returns
    -------
    str
        Well-formed markup without a style attribute, safe to mark as such. Roles are classes too
        (``role-band``), so that a style sheet may answer a dark ground or print.
    """
    safe = _attribute(uid)
    width, height = _number(scene.width), _number(scene.height)
    body = "".join(_mark(mark) for mark in scene.marks)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" '
        f'aria-labelledby="{safe}-title {safe}-desc" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}" font-family="{FONT_FAMILY}" '
        f'stroke-linecap="round" stroke-linejoin="round">'
        f'<title id="{safe}-title">{_words(title)}</title>'
        f'<desc id="{safe}-desc">{_words(desc)}</desc>{body}</svg>'
    )


def _mark(mark: Mark) -> str:
    match mark:
        case Line(x1, y1, x2, y2):
            shape = f'<line x1="{_number(x1)}" y1="{_number(y1)}" x2="{_number(x2)}" '
            shape += f'y2="{_number(y2)}"'
        case Path():
            shape = f'<path d="{_path(mark)}"'
        case Circle(x, y, r):
            shape = f'<circle cx="{_number(x)}" cy="{_number(y)}" r="{_number(r)}"'
        case Rect(x, y, width, height):
            shape = f'<rect x="{_number(x)}" y="{_number(y)}" width="{_number(width)}" '
            shape += f'height="{_number(height)}"'
            if mark.radius:
                shape += f' rx="{_number(mark.radius)}"'
        case Text():
            return _text(mark)
    return f"{shape} {_paint(mark)}/>"


def _text(text: Text) -> str:
    weight = f' font-weight="{STRONG_WEIGHT}"' if text.strong else ""
    anchor = f' text-anchor="{text.anchor}"' if text.anchor != "start" else ""
    return (
        f'<text x="{_number(text.x)}" y="{_number(text.y)}" font-size="{_number(text.size)}"'
        f'{weight}{anchor} class="role-{text.role.value}" fill="{LOOKS[text.role].fill}">'
        f"{_words(text.words)}</text>"
    )


def _paint(mark: Mark) -> str:
    look = LOOKS[mark.role]
    if mark.role in TEXT_ROLES:
        raise ValueError(f"{mark.role} is a role of words, not of marks.")
    paint = f'class="role-{mark.role.value}" fill="{look.fill or "none"}"'
    if look.stroke:
        paint += f' stroke="{look.stroke}" stroke-width="{_number(look.width)}"'
    if look.dash:
        paint += f' stroke-dasharray="{" ".join(map(_number, look.dash))}"'
    return paint


def _path(path: Path) -> str:
    (x, y), *rest = path.points
    steps = [f"M{_number(x)} {_number(y)}"]
    if path.smooth:
        for (ax, ay), (bx, by), (ex, ey) in bezier(path):
            numbers = " ".join(map(_number, (ax, ay, bx, by, ex, ey)))
            steps.append(f"C{numbers}")
    else:
        steps += [f"L{_number(px)} {_number(py)}" for px, py in rest]
    if path.closed:
        steps.append("Z")
    return "".join(steps)


def _number(value: float) -> str:
    """Two decimals are a fiftieth of a pixel; no sign of zero, so that drawings compare equal."""
    return f"{round(value, 2) + 0.0:g}" if abs(value) < 1e5 else f"{value:.0f}"


def _words(words: str) -> str:
    """Escape, and leave out the controls that XML forbids."""
    return escape("".join(c for c in words if c in "\t\n" or category(c) not in FORBIDDEN))


def _attribute(word: str) -> str:
    return "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in word)
