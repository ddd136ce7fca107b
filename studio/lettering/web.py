"""The typefaces for web pages: small compressed files, the everyday letters apart from the rest.

A subset is a changed font, and the licence reserves the name of the original: the families have
names of our own, and the licence's text lies beside the files.
"""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import font_source_sans_pro
import font_source_serif_pro
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont as FontFile
from reportlab.pdfbase.pdfmetrics import stringWidth

SANS, SERIF = "Rim Sans", "Rim Serif"
_SANS_FILES = Path(font_source_sans_pro.font_directory)
_SERIF_FILES = Path(font_source_serif_pro.font_directory)
LICENCE = "LICENSE.txt"
STYLES = "fonts.css"

EVERYDAY = (
    (0x20, 0x7E), (0xA0, 0xFF), (0x131, 0x131), (0x152, 0x153), (0x2009, 0x2009),
    (0x2010, 0x2014), (0x2018, 0x201E), (0x2020, 0x2022), (0x2026, 0x2026), (0x202F, 0x202F),
    (0x2032, 0x2033), (0x2039, 0x203A), (0x20AC, 0x20AC), (0x2190, 0x2193), (0x2212, 0x2212),
    (0x2264, 0x2265), (0x25B2, 0x25B2), (0x25BC, 0x25BC), (0x25CB, 0x25CB), (0x25CF, 0x25CF),
    (0x2713, 0x2713),
)  # fmt: skip
"""English and Spanish, and the signs of measures: what nearly every page is written with, and
the marks that style sheets set before words."""

SAMPLE = (
    "The rim rises a little by the handle and the wall stays even, so next time let the slab rest "
    "before it is joined, press the seam from inside and look at the foot from below."
)
"""How often each letter stands in a text of ours: for the width of a font that stands in."""


@dataclass(frozen=True, slots=True)
class Face:
    """One file of a family; ``stands_in`` are local fonts of one width, and their widths in
    ReportLab. A font that comes late waits for the next page: none is redrawn (``optional``)."""

    family: str
    style: str
    weight: int
    source: Path
    stands_in: tuple[tuple[str, ...], str]

    @property
    def stem(self) -> str:
        name = self.family.lower().replace(" ", "-")
        return f"{name}-{self.weight}{'-italic' if self.style == 'italic' else ''}"


FACES = (
    Face(SANS, "normal", 400, _SANS_FILES / "SourceSansPro-Regular.ttf",
         (("Arial", "Liberation Sans", "Roboto"), "Helvetica")),
    Face(SANS, "normal", 600, _SANS_FILES / "SourceSansPro-Semibold.ttf",
         (("Arial Bold", "Liberation Sans Bold", "Roboto Bold"), "Helvetica-Bold")),
    Face(SANS, "italic", 400, _SANS_FILES / "SourceSansPro-It.ttf",
         (("Arial Italic", "Liberation Sans Italic"), "Helvetica-Oblique")),
    Face(SERIF, "normal", 600, _SERIF_FILES / "SourceSerifPro-Semibold.ttf",
         (("Times New Roman Bold", "Liberation Serif Bold"), "Times-Bold")),
)  # fmt: skip


def key() -> str:
    """Changes whenever other files would be made: with the fonts, and with what is done here."""
    told = hashlib.sha256(Path(__file__).read_bytes())
    for face in FACES:
        told.update(face.source.read_bytes())
    return told.hexdigest()[:12]


def make(folder: Path) -> None:
    """Write the fonts, their style sheet and the licence into an empty folder.

    Raises
    ------
    OSError
        The folder cannot be written to.
    """
    rules = []
    for face in FACES:
        with FontFile(face.source) as font:
            letters = set(font.getBestCmap())
        everyday = {each for low, high in EVERYDAY for each in range(low, high + 1)} & letters
        for part, wanted in (("latin", everyday), ("more", letters - everyday)):
            name = f"{face.stem}-{part}.woff2"
            _write_subset(face, wanted, folder / name)
            rules.append(_rule(face, name, wanted))
        rules.append(_stand_in(face))
    (folder / STYLES).write_text("\n".join(rules) + "\n", encoding="utf-8")
    shutil.copyfile(_SANS_FILES / LICENCE, folder / LICENCE)


def _write_subset(face: Face, letters: Iterable[int], file: Path) -> None:
    options = Options()
    options.flavor = "woff2"
    options.layout_features = ["kern", "liga", "lnum", "tnum", "mark", "mkmk", "ccmp", "locl"]
    options.name_IDs = ["*"]
    options.notdef_outline = True
    with FontFile(face.source, recalcTimestamp=False) as font:
        subsetter = Subsetter(options)
        subsetter.populate(unicodes=letters)
        subsetter.subset(font)
        _rename(font, face.family)
        font.flavor = "woff2"
        font.save(file)


def _rename(font: FontFile, family: str) -> None:
    """Take the reserved name out of all names that a program shows (OFL 1.1, condition 3)."""
    shown = {1: family, 3: f"{family} subset", 4: family, 6: family.replace(" ", ""), 16: family}
    for record in list(font["name"].names):
        if record.nameID in shown:
            record.string = shown[record.nameID]
        elif record.nameID in (18, 25):
            font["name"].removeNames(nameID=record.nameID)


def _rule(face: Face, name: str, letters: Iterable[int]) -> str:
    return (
        f'@font-face {{ font-family: "{face.family}"; font-style: {face.style}; '
        f"font-weight: {face.weight}; font-display: optional; "
        f'src: url("{name}") format("woff2"); unicode-range: {_ranges(letters)}; }}'
    )


def _ranges(letters: Iterable[int]) -> str:
    """Letters as a list of ranges, the way a style sheet writes them."""
    found: list[list[int]] = []
    for each in sorted(letters):
        if found and each == found[-1][1] + 1:
            found[-1][1] = each
        else:
            found.append([each, each])
    return ", ".join(f"U+{low:X}" if low == high else f"U+{low:X}-{high:X}" for low, high in found)


def _stand_in(face: Face) -> str:
    """A local font drawn as wide and as high, so that nothing moves when the own font arrives."""
    names, widths = face.stands_in
    local = ", ".join(f'local("{name}")' for name in names)
    with FontFile(face.source) as font:
        em, glyphs, advances = font["head"].unitsPerEm, font.getBestCmap(), font["hmtx"]
        own = sum(advances[glyphs[ord(letter)]][0] for letter in SAMPLE) / em
        up, down, gap = (
            getattr(font["hhea"], name) / em for name in ("ascent", "descent", "lineGap")
        )
    ratio = own / stringWidth(SAMPLE, widths, 1.0)
    return (
        f'@font-face {{ font-family: "{face.family} until then"; font-style: {face.style}; '
        f"font-weight: {face.weight}; src: {local}; size-adjust: {ratio:.2%}; "
        f"ascent-override: {up / ratio:.2%}; descent-override: {-down / ratio:.2%}; "
        f"line-gap-override: {gap / ratio:.2%}; }}"
    )
