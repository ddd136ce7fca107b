"""A section's pages for families: time, memory, and the cost beside ReportLab's bare drawing."""

import io
import multiprocessing
import re
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from reportlab.lib.pagesizes import LETTER
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from rubrics.reports import portfolio
from rubrics.reports.family import FamilyPage, PrintedPicture, PublishedPiece
from rubrics.reports.paper import prints
from studio.lettering.fonts import SANS
from tests.reports.examples import shown_of

pytestmark = pytest.mark.benchmark

STUDENTS = 150
MOST_SECONDS, MOST_BYTES, MOST_RATIO = 30.0, 500_000_000, 1.5
MOST_BYTES_A_PAGE = 400_000


PHOTOS = 3


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """Pictures as large as the site keeps its middle size, no two alike; they compress badly."""
    folder = tmp_path_factory.mktemp("photos")
    rng = np.random.default_rng(1)
    coarse = rng.integers(0, 255, (60, 80, 3), dtype=np.uint8)
    pixels = np.array(Image.fromarray(coarse).resize((1280, 960), Image.Resampling.BICUBIC))
    made = []
    for place in range(STUDENTS * PHOTOS):
        pixels[400:440, 600:680] = rng.integers(0, 255, 3, dtype=np.uint8)
        made.append(folder / f"{place}.jpg")
        Image.fromarray(pixels).save(made[-1], "JPEG", quality=88)
    return made


@pytest.fixture(scope="module")
def shown():
    return shown_of()


def pages(shown, files, count=STUDENTS):
    for place in range(count):
        told = PublishedPiece(
            shown=shown | {"student": f"Student {place}"},
            number=3,
            stage="glazed",
            pictures=tuple(
                PrintedPicture(file=file.read_bytes(), stage="glazed")
                for file in files[place * PHOTOS : (place + 1) * PHOTOS]
            ),
        )
        yield FamilyPage(
            student=f"Student {place}",
            section="Bell 4",
            day="2026-03-26",
            pieces=(told,),
            words=shown["words"],
        )


def drawn_bare(document: bytes, files, sizes) -> bytes:
    """ReportLab alone: the same words at the same places, the same photos at the same size."""
    with pypdfium2.PdfDocument(document) as opened:
        text = opened[0].get_textpage()
        lines = []
        for at in range(text.count_rects()):
            left, bottom, right, top = text.get_rect(at)
            lines.append((left, bottom, text.get_text_bounded(left, bottom, right, top)))
    written = io.BytesIO()
    canvas = Canvas(written, pagesize=LETTER)
    for place in range(STUDENTS):
        own = files[place * PHOTOS : (place + 1) * PHOTOS]
        for file, (width, height) in zip(own, sizes, strict=True):
            canvas.drawImage(ImageReader(scaled(file, width, height)), 40, 40, width, height)
        for left, bottom, words in lines:
            canvas.setFont(SANS, 10)
            canvas.drawString(left, bottom, words)
        canvas.showPage()
    canvas.save()
    return written.getvalue()


def scaled(file, width: float, height: float) -> io.BytesIO:
    """Pillow alone: to 200 dots an inch, without which no page stays under its size."""
    image = Image.open(file)
    size = (round(width / 72 * 200), round(height / 72 * 200))
    image.draft("RGB", (max(size), max(size)))
    written = io.BytesIO()
    image.resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0).save(written, "JPEG", quality=80)
    written.seek(0)
    return written


def print_all(shown, files) -> tuple[float, int, int]:
    """Print the section; processor time [s], bytes of the PDF, most bytes the process held."""
    before = time.process_time()
    whole = portfolio.portfolio_pdf(pages(shown, files), title="x").pdf
    taken = time.process_time() - before
    peak = re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())
    return taken, len(whole), int(peak[1]) * 1024


def test_a_hundred_and_fifty_pages(shown, files, monkeypatch):
    sizes: list[tuple[float, float]] = []
    monkeypatch.setattr(prints.Print, "draw", _noting(sizes, prints.Print.draw))
    one = portfolio.portfolio_pdf(pages(shown, files, 1), title="x").pdf
    monkeypatch.undo()
    # A process of its own: what other benchmarks held before is not this one's memory.
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as apart:
        ours, size, held = apart.submit(print_all, shown, files).result()
    before = time.process_time()
    drawn_bare(one, files, sizes)
    bare = time.process_time() - before
    print(
        f"\n{STUDENTS} pages: {ours:.1f} s; ReportLab and Pillow alone: {bare:.1f} s of a processor"
    )
    print(f"{ours / bare:.2f} times; {size / STUDENTS / 1000:.0f} kB a page; ", end="")
    print(f"the process held {held / 1e6:.0f} MB at most")
    assert ours < MOST_SECONDS
    assert held < MOST_BYTES
    assert size / STUDENTS < MOST_BYTES_A_PAGE
    assert ours / bare < MOST_RATIO


def _noting(sizes, draw):
    def noted(self):
        sizes.append((self.width, self.height))
        draw(self)

    return noted
