"""What a PDF page draws, in millimetres from the middle of the page or its lower left corner."""

import math
import shutil
import subprocess
from dataclasses import dataclass, field

import cv2
import numpy as np
import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

POINT_MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3: the default unit is 1/72 inch


@dataclass
class Drawn:
    """Rectangles (x, y, width, height, grey), lines (x0, y0, x1, y1), circles (x, y, radius)."""

    width_mm: float
    height_mm: float
    rectangles: list = field(default_factory=list)
    lines: list = field(default_factory=list)
    circles: list = field(default_factory=list)


def read(pdf: bytes, tmp_path, page=0, *, centred=False) -> Drawn:
    """Follow the operators of one page's content stream (ISO 32000-1, 8.5.2 and 8.4.4)."""
    path = tmp_path / "drawn.pdf"
    path.write_bytes(pdf)
    reader = PdfReader(path)
    sheet = reader.pages[page]
    width, height = (float(side) * POINT_MM for side in sheet.mediabox[2:])
    drawn = Drawn(width, height)
    matrix, kept, grey, path_ops = np.eye(3), [], 0.0, []
    origin = np.array([width / 2, height / 2]) if centred else np.zeros(2)

    def at(x, y):
        return (matrix.T @ [float(x), float(y), 1])[:2] * POINT_MM - origin

    for operands, operator in ContentStream(sheet.get_contents(), reader).operations:
        if operator == b"q":
            kept.append((matrix, grey))
        elif operator == b"Q":
            matrix, grey = kept.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = (float(n) for n in operands)
            matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
        elif operator == b"g":
            grey = float(operands[0])
        elif operator in (b"re", b"m", b"l", b"c", b"h"):
            path_ops.append((operator, operands))
        elif operator in (b"f", b"f*", b"S", b"n", b"B"):
            _keep(drawn, path_ops, at, grey)
            path_ops = []
    return drawn


def _keep(drawn, path, at, grey):
    kinds = b"".join(operator for operator, _ in path)
    if kinds == b"re":
        x, y, width, height = path[0][1]
        low, high = at(x, y), at(float(x) + float(width), float(y) + float(height))
        drawn.rectangles.append((*low, *(high - low), grey))
    elif kinds == b"ml":
        drawn.lines.append((*at(*path[0][1]), *at(*path[1][1])))
    elif b"c" in kinds:
        ends = [at(*operands[-2:]) for operator, operands in path if operator in (b"m", b"c")]
        middle = np.mean(ends[1:], axis=0)
        drawn.circles.append((*middle, math.dist(middle, ends[0])))


def picture(pdf: bytes, tmp_path, *, dpi: int, page=1) -> np.ndarray:
    """The page as poppler draws it, grey, rows from the top."""
    if not shutil.which("pdftoppm"):
        pytest.skip("pdftoppm (poppler) is not installed: the page cannot be drawn")
    path = tmp_path / "page.pdf"
    path.write_bytes(pdf)
    target = tmp_path / "page"
    command = ["pdftoppm", "-r", str(dpi), "-f", str(page), "-l", str(page), "-gray", "-singlefile"]
    subprocess.run([*command, str(path), str(target)], check=True)
    return cv2.imread(f"{target}.pgm", cv2.IMREAD_GRAYSCALE)
