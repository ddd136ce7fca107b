"""What a page loads: small fonts, compressed, under names that change with the content."""

import gzip
import io
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.urls import reverse
from fontTools.ttLib import TTFont

from studio.lettering import web
from studio.web.web_fonts import WebFontFinder, font_folder

MOST_EVERYDAY_BYTES = 65_000
"""All four faces of the everyday letters; their originals weigh 789 kB."""


def letters(name):
    with TTFont(finders.find(f"fonts/{name}")) as font:
        return set(font.getBestCmap())


@pytest.mark.parametrize("face", web.FACES, ids=lambda face: face.stem)
def test_both_files_of_a_face_hold_every_letter_of_the_original_once(face):
    with TTFont(face.source) as original:
        whole = set(original.getBestCmap())
    everyday, more = letters(f"{face.stem}-latin.woff2"), letters(f"{face.stem}-more.woff2")
    assert everyday | more == whole
    assert not everyday & more
    assert {ord(letter) for letter in "Añ¿ß°±−½→"} & whole <= everyday


@pytest.mark.parametrize("face", web.FACES, ids=lambda face: face.stem)
def test_a_changed_font_does_not_bear_the_reserved_name(face):
    # OFL 1.1, condition 3: no modified version may use the reserved name as shown to users.
    with TTFont(finders.find(f"fonts/{face.stem}-latin.woff2")) as font:
        shown = {font["name"].getDebugName(number) for number in (1, 3, 4, 6, 16)} - {None}
        assert not any("Source" in name for name in shown)
        assert "Reserved Font Name" in font["name"].getDebugName(0)
    assert "SIL OPEN FONT LICENSE" in Path(finders.find("fonts/LICENSE.txt")).read_text()


def test_the_everyday_letters_are_small():
    everyday = font_folder().glob("*-latin.woff2")
    assert sum(file.stat().st_size for file in everyday) < MOST_EVERYDAY_BYTES


def test_a_font_that_stands_in_is_as_wide_as_the_own_one():
    # By hand: the sample's width in Source Sans over that in Helvetica, from both fonts' tables.
    rule = next(
        line
        for line in (font_folder() / "fonts.css").read_text().splitlines()
        if "until then" in line and 'local("Arial")' in line
    )
    ratio = float(re.search(r"size-adjust: ([\d.]+)%", rule)[1]) / 100
    ascent = float(re.search(r"ascent-override: ([\d.]+)%", rule)[1]) / 100
    assert 0.9 < ratio < 1
    assert ratio * ascent == pytest.approx(0.984, abs=1e-3)  # hhea ascent of Source Sans


def test_the_finder_lists_what_it_finds_and_nothing_outside():
    finder = WebFontFinder()
    listed = [name for name, _ in finder.list([])]
    assert "fonts.css" in listed
    assert all(finder.find(f"fonts/{name}") for name in listed)
    for outside in ("fonts/../secret-key", "fonts/", "fonts", "studio/base.css", "fonts/a/b"):
        assert not finder.find(outside)


def test_a_page_is_compressed_for_who_asks_and_a_picture_never(client):
    plain = client.get(reverse("sign_in"))
    assert "Content-Encoding" not in plain
    packed = client.get(reverse("sign_in"), headers={"accept-encoding": "gzip"})
    assert packed["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in packed["Vary"]
    assert b"<h1" in gzip.GzipFile(fileobj=io.BytesIO(packed.content)).read()


COLLECT_AND_ASK = """
import django, json
django.setup()
from django.conf import settings
from studio.web.collected import collect
collect()
from django.templatetags.static import static
names = ("studio/base.css", "fonts/fonts.css", "rubrics/judge-shelf.js")
print(json.dumps([static(name) for name in names]))
"""


def test_collected_files_have_names_of_their_content_and_load_one_another_by_them(tmp_path):
    environment = {
        "PATH": "", "PYTHONPATH": str(settings.BASE_DIR), "STATIC_ROOT": str(tmp_path / "static"),
        "DJANGO_SETTINGS_MODULE": "studio.settings", "RIM_AND_REASON_HOME": str(tmp_path),
    }  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-c", COLLECT_AND_ASK], env=environment, capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    names = re.findall(r'"/static/([^"]+)"', done.stdout)
    assert len(names) == 3
    for name in names:
        assert re.search(r"\.[0-9a-f]{12}\.(css|js)$", name)
        assert (tmp_path / "static" / f"{name}.gz").is_file()
    style = (tmp_path / "static" / names[1]).read_text()
    assert re.search(r'url\("rim-sans-400-latin\.[0-9a-f]{12}\.woff2"\)', style)
    imports = re.findall(r'from\s*"([^"]+)"', (tmp_path / "static" / names[2]).read_text())
    assert imports
    assert all(re.search(r"\.[0-9a-f]{12}\.js$", each) for each in imports)
