"""How many keys a batch of 24 cups costs on the measuring sheet, typed into a real browser.

Run it with ``pytest -n 0 -s -m benchmark tests/browser/test_measuring_keys.py``; it prints a
table. The cups are the demo class's (invented), read as a school reads them: walls to 0.1 mm, rims
to 0.5 mm, all else to 1 mm and 1°. Nothing but keys is counted: a letter, a digit, Enter, an arrow
and Shift are one each; the click into the first cell of a sheet is not. Every key is pressed and
every reading found again in the database.
"""

import csv
import sys
from collections import defaultdict
from dataclasses import dataclass

import pytest
from django.conf import settings
from playwright.sync_api import expect

from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from studio.models import Reading
from tests.factories import make_photo, make_piece, read

pytestmark = pytest.mark.benchmark

CUPS = 24
STAGE = "leather-hard"
SIDES = {0: "h", 90: "r", 180: "b", 270: "l"}
RIM_STEP = 0.5
PATIENCE_MS = 60_000
MOST_OF_BEFORE = 0.6
"""A share of the keys as before, a guard against more of them: 0.54 was counted. It is no goal; the
goal of 650 keys by hand and 250 with photos is not reached."""


@dataclass
class Cup:
    """One cup as it is read, by quantity, in the order of the sheet."""

    walls: dict
    rim: list
    across: tuple
    height: int
    foot_side: int
    top: tuple
    bottom: tuple
    twist: int
    opening: tuple
    step: float
    sides: list
    diagonals: list
    gaps: list


def class_of_24() -> list[Cup]:
    """The demo class's cups; what is read of the foot and the handle's opening comes from later
    stages, and the first cups stand again for those that were lost."""
    by_cup = defaultdict(lambda: defaultdict(dict))
    with (settings.FIXTURES_DIR / "demo" / "readings.csv").open(encoding="utf-8-sig") as file:
        for row in csv.DictReader(file):
            where = row["name"] or (float(row["azimuth_deg"]) if row["azimuth_deg"] else "")
            by_cup[row["piece"]][row["quantity"], row["stage"]][where] = float(row["value"])
    whole = [cup for cup in by_cup.values() if ("foot_side", "glazed") in cup]
    cups = [_cup(whole[at % len(whole)], at) for at in range(CUPS)]
    assert len(whole) >= 20
    return cups


def _cup(read_off, at) -> Cup:
    here = {quantity: found for (quantity, stage), found in read_off.items() if stage == STAGE}
    late = {quantity: found for (quantity, stage), found in read_off.items() if stage == "glazed"}
    across = round(here["dimension"]["rim_diameter"])

    def place(quantity):
        ((azimuth, height),) = here[quantity].items()
        return round(height), round((azimuth + 180) % 360 - 180)

    return Cup(
        walls=here["wall_thickness"],
        rim=[round(here["rim_height"][az] / RIM_STEP) * RIM_STEP for az in (0, 90, 180, 270)],
        # Nobody read the demo's rims across; they differ by 0 to 2 mm here.
        across=(across, across - at % 3),
        height=round(here["dimension"]["height"]),
        foot_side=round(here["dimension"]["foot_side"]),
        top=place("handle_top"),
        bottom=place("handle_bottom"),
        twist=round(here["handle_twist"][""]),
        opening=tuple(round(late["handle_opening"][name]) for name in ("height", "depth")),
        step=here["seam_step"].get("seam", 0.0),
        sides=[round(late["foot_side"][n]) for n in "1234"],
        diagonals=[round(late["foot_diagonal"][n]) for n in "12"],
        gaps=[late["foot_gap"][n] for n in "1234"],
    )


# -- how it was typed before: every value whole, every place, Enter after each ----------------


def number(value) -> str:
    return f"{value:g}"


def entered(*values) -> int:
    return sum(len(number(value)) + 1 for value in values)


def before(cup) -> dict[str, int]:
    places = [each for place in (cup.top, cup.bottom) for each in place]
    return {
        "wall": entered(*cup.walls.values()),
        "rim": entered(*cup.rim),
        "sizes": entered(cup.height, *cup.across, cup.foot_side),
        "handle": entered(*places, cup.twist, *cup.opening),
        # Length and side, open 0 with its place, a second part, a crack, the step: six Enters on
        # empty fields, and four more for the thickness.
        "seam": entered(cup.height, 180, 0, cup.step) + 10,
        "foot": entered(*cup.sides, *cup.diagonals, *cup.gaps),
    }


# -- how it is typed now ----------------------------------------------------------------------


def short(value) -> str:
    """A number as a hand in a hurry writes it: no nought before the point."""
    return number(value).removeprefix("0") if 0 < value < 1 else number(value)


def pointless(value) -> str:
    """A size without its point, where only the point is missing."""
    return number(round(value * 10)) if value % 1 else number(value)


def chain(values, first) -> list[str]:
    """Values of one kind: the first whole, the others by what they are more or less."""
    keys = [first]
    for value in values[1:]:
        more = value - values[0]
        keys.append("=" if not more else f"{'+' if more > 0 else '-'}{short(abs(more))}")
    return keys


def closed(keys) -> str:
    """Enter after the last, unless it went on by itself."""
    text = "".join(keys)
    return text if text.endswith("=") else text + "\n"


def wall_keys(cup) -> str:
    ends = [sorted(cup.walls.items(), key=lambda place: place[1])[end] for end in (0, -1)]
    return "".join(
        # From 10 mm on the point is typed: 106 could be taken for many things.
        (f"{value * 10:.0f}" if value < 10 else number(value)) + SIDES[azimuth]
        for azimuth, value in ends
    )


def rim_keys(cup) -> str:
    return closed(chain(cup.rim, pointless(cup.rim[0])))


def size_keys(cup) -> str:
    return "".join(f"{value}\n" for value in cup.across)


def handle_keys(cup, *, photographed=False) -> str:
    (top, side), (bottom, other) = cup.top, cup.bottom
    keys = f"{top}\n{side}\n{bottom}\n" + ("=" if side == other else f"{other}\n")
    return keys if photographed else keys + "".join(f"{v}\n" for v in (cup.twist, *cup.opening))


def foot_keys(cup) -> str:
    keys = closed(chain(cup.sides, number(cup.sides[0])))
    keys += closed(chain(cup.diagonals, number(cup.diagonals[0])))
    return keys + ("c" if not any(cup.gaps) else "".join(f"{short(gap)}\n" for gap in cup.gaps))


SEAM_ALL = ["Shift", "C"]


def seam_keys(cups) -> list[str]:
    """All closed by one key, then down the column of steps where there is one."""
    keys = []
    for cup in cups:
        keys += [*(short(cup.step) if cup.step else ""), "ArrowDown"]
    return keys


# -- the batch ------------------------------------------------------------------------------


@pytest.fixture
def batch(school):
    choose_rubric(school.project, ensure_starter_rubric())
    school.project.pieces.all().delete()
    cups = class_of_24()
    pieces = [
        make_piece(school.project, school.amara, f"K3-{at:02}", stage=STAGE)
        for at in range(1, CUPS + 1)
    ]
    return cups, pieces


def type_down(page, cups, keys_of) -> int:
    # What is given already is not asked for: the hand begins at the first field that is.
    page.locator("tr[data-piece] input:not([data-given])").first.click()
    count = 0
    for cup in cups:
        keys = keys_of(cup)
        page.keyboard.type(keys)
        count += len(keys)
    return count


def type_seams(page, cups) -> int:
    page.locator('[data-cell="seam-step"]').first.click()
    page.keyboard.press("Shift+C")
    keys = seam_keys(cups)
    for key in keys:
        page.keyboard.press(key)
    return len(SEAM_ALL) + len(keys)


def wait_until_saved(page):
    box = page.locator("td.busy, td.waits")
    expect(box).to_have_count(0, timeout=PATIENCE_MS)
    refused = page.locator("td.refused")
    assert refused.count() == 0, page.locator("tr.say").all_inner_texts()


def values_of(pieces, quantity, **named):
    """The values of a quantity, piece by piece, in the order in which they were typed."""
    found = defaultdict(list)
    for each in Reading.objects.current().filter(quantity=quantity, source="hand", **named):
        found[each.piece_id].append((each.azimuth_deg, each.name, each.value))
    return [
        [value for *_, value in sorted(found[piece.pk], key=lambda place: place[:2])]
        for piece in pieces
    ]


def measured(open_sheet, cups, *, photographed=False) -> dict[str, int]:
    def sheet(key, keys_of):
        page = open_sheet(key)
        count = type_down(page, cups, keys_of)
        wait_until_saved(page)
        return count

    counts = {"wall": sheet("wall-ends", wall_keys), "rim": sheet("rim-4", rim_keys)}
    counts["foot"] = sheet("foot", foot_keys)
    if photographed:
        counts["sizes"] = sheet("sizes", lambda cup: f"{cup.across[1]}\n")
    else:
        counts["sizes"] = sheet("sizes", size_keys)
    counts["handle"] = sheet("handle", lambda cup: handle_keys(cup, photographed=photographed))
    page = open_sheet("seam")
    counts["seam"] = type_seams(page, cups)
    wait_until_saved(page)
    return counts


def check_readings(cups, pieces, *, photographed=False):
    """What was typed is what is kept."""
    ends = values_of(pieces, "wall_end", name="thinnest")
    assert ends == [[min(cup.walls.values())] for cup in cups]
    assert values_of(pieces, "wall_end", name="thickest") == [
        [max(cup.walls.values())] for cup in cups
    ]
    assert values_of(pieces, "rim_height") == [cup.rim for cup in cups]
    assert values_of(pieces, "foot_side") == [cup.sides for cup in cups]
    assert values_of(pieces, "foot_diagonal") == [cup.diagonals for cup in cups]
    assert values_of(pieces, "foot_gap") == [cup.gaps for cup in cups]
    assert values_of(pieces, "handle_top") == [[cup.top[0]] for cup in cups]
    assert values_of(pieces, "handle_bottom") == [[cup.bottom[0]] for cup in cups]
    assert values_of(pieces, "seam_open") == [[0] for _ in cups]
    assert values_of(pieces, "seam_step") == [[cup.step] for cup in cups]
    assert values_of(pieces, "dimension", name="rim_diameter_2") == [
        [cup.across[1]] for cup in cups
    ]
    if not photographed:
        assert values_of(pieces, "handle_twist") == [[cup.twist] for cup in cups]
        assert values_of(pieces, "dimension", name="rim_diameter") == [
            [cup.across[0]] for cup in cups
        ]


SHEETS = ("wall", "rim", "sizes", "handle", "seam", "foot")


def show(title, *columns):
    lines = [title, f"{'':10}{'whole, as before':>18}{'by hand':>10}{'with photos':>13}"]
    for sheet in (*SHEETS, "all six"):
        names = SHEETS if sheet == "all six" else (sheet,)
        cells = [sum(column[name] for name in names) for column in columns]
        lines.append(f"{sheet:24}{cells[0]:>4}{cells[1]:>10}{cells[2]:>13}")
    sys.stdout.write("\n" + "\n".join(lines) + "\n")


def test_keys_of_a_batch(open_sheet, batch):
    cups, pieces = batch
    whole = defaultdict(int)
    for cup in cups:
        for sheet, keys in before(cup).items():
            whole[sheet] += keys
    by_hand = measured(open_sheet, cups)
    check_readings(cups, pieces)
    Reading.objects.all().delete()
    for cup, piece in zip(cups, pieces, strict=True):
        photo = make_photo(piece)
        photo.confirmed_at = "2026-01-01T00:00Z"
        photo.save()
        given = {"source": "photo", "photo": photo, "own_u": 0.4}
        read(piece, "dimension", cup.height, name="height", **given)
        read(piece, "dimension", cup.across[0], name="rim_diameter", **given)
        read(piece, "handle_twist", cup.twist, **given)
        for name, value in zip(("height", "depth"), cup.opening, strict=True):
            read(piece, "handle_opening", value, name=name, **given)
    photographed = measured(open_sheet, cups, photographed=True)
    check_readings(cups, pieces, photographed=True)
    show("Keys for a batch of 24 cups", whole, by_hand, photographed)
    assert sum(by_hand.values()) < sum(whole.values()) * MOST_OF_BEFORE
    assert sum(photographed.values()) < sum(by_hand.values())
