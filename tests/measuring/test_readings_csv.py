"""Readings in and out of a spreadsheet's CSV."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studio.measuring.entries import EntryError, read_entry, read_value, split_typed
from studio.measuring.readings_csv import COLUMNS, MOST_ROWS, guard, parse, unguard, write
from studio.models import Reading
from studio.ware.quantities import JOINS, QUANTITIES
from studio.ware.stages import STAGES

HEADER = ",".join(COLUMNS)
GOOD = "K3-01,leather-hard,wall_thickness,,45,90,6.4,mm,calliper"


def file_of(*lines, header=HEADER, encoding="utf-8", end="\n"):
    return end.join([header, *lines, ""]).encode(encoding)


def only(parsed):
    assert parsed.problems == ()
    (row,) = parsed.rows
    return row


def sentences(parsed):
    return [(problem.line, problem.sentence) for problem in parsed.problems]


def test_a_plain_line():
    row = only(parse(file_of(GOOD)))
    assert (row.line, row.piece, row.instrument) == (2, "K3-01", "calliper")
    entry = row.entry
    assert (entry.stage, entry.quantity, entry.name) == ("leather-hard", "wall_thickness", "")
    assert (entry.height_mm, entry.azimuth_deg, entry.value) == (45, 90, 6.4)
    assert (entry.typed, entry.station) == ("6.4 mm", "z45 az90")


EVERY_QUANTITY = [
    ("wall_thickness,,45,90,6.4,mm", 6.4),
    ("rim_height,,,90,95.5,mm", 95.5),
    ("dimension,height,,,9.5,cm", 95),
    ("dimension,diameter,40,,3 1/8,in", 79.375),
    ("seam_length,dart1,,,30,mm", 30),
    ("seam_open,seam,30,,14,mm", 14),
    ("seam_through,dart4,0,,3,mm", 3),
    ("seam_step,seam,50,,0.5,mm", 0.5),
    ("seam_thickness,beside,50,,6.1,mm", 6.1),
    ("handle_top,,,2,70,mm", 70),
    ("handle_bottom,,,358,30,mm", 30),
    ("handle_twist,,,,-4.5,deg", -4.5),
    ("handle_opening,depth,,,26,mm", 26),
    ("foot_side,4,,,58,mm", 58),
    ("foot_diagonal,2,,,80,mm", 80),
    ("foot_gap,1,,,0.3,mm", 0.3),
    ("water_mass,brim,,,280,g", 280),
]


@pytest.mark.parametrize(("cells", "value"), EVERY_QUANTITY)
def test_every_quantity_has_its_line(cells, value):
    assert only(parse(file_of(f"K3-01,glazed,{cells},"))).entry.value == value


@pytest.mark.parametrize(
    "data",
    [
        file_of(GOOD, encoding="utf-8-sig"),
        file_of(GOOD, encoding="utf-16"),
        file_of(GOOD, end="\r\n"),
        file_of(GOOD, end="\r"),
        file_of(GOOD, ",,,,,,,,", "", "   ", end="\r\n"),
        file_of(GOOD.replace(",", ";").replace("6.4", "6,4"), header=HEADER.replace(",", ";")),
        file_of(GOOD.replace(",", "\t").replace("6.4", "6,4"), header=HEADER.replace(",", "\t")),
        file_of(GOOD.replace("6.4", '"6,4"')),
        file_of(GOOD.replace("6.4,mm", "6.4 mm,")),
        file_of(GOOD.replace("leather-hard", "Leather Hard")),
        file_of(GOOD.replace("leather-hard", " LEATHER-HARD ")),
        file_of(
            GOOD, header=HEADER.replace("height_mm", " Height MM ").replace("piece", '"Piece"')
        ),
        b"sep=;\r\n" + file_of(GOOD.replace(",", ";"), header=HEADER.replace(",", ";"), end="\r\n"),
        file_of(GOOD.replace(",90,", ",-270,")),
        file_of(GOOD.replace(",90,", ",450°,")),
    ],
    ids=[
        "bom",
        "utf-16",
        "crlf",
        "cr",
        "empty trailing lines",
        "semicolons",
        "tabs",
        "quoted decimal comma",
        "unit in the value",
        "stage with a space",
        "stage in capitals",
        "header in capitals",
        "sep line",
        "azimuth below zero",
        "azimuth over a turn",
    ],
)
def test_what_spreadsheets_do_to_a_file_is_taken(data):
    row = only(parse(data))
    assert (row.piece, row.instrument) == ("K3-01", "calliper")
    assert (row.entry.station, row.entry.value) == ("z45 az90", 6.4)


@pytest.mark.parametrize("cell", ['"1/4"""', '1/4"', '"1/4\\""', '1/4\\"', '"1/4 in"', "¼″"])
def test_fractions_in_quotes(cell):
    row = only(parse(file_of(f"K3-01,wet,wall_thickness,,45,90,{cell},,calliper")))
    assert (row.entry.value, row.entry.typed, row.instrument) == (6.35, "1/4 in", "calliper")


def test_columns_may_stand_in_any_order_and_the_optional_ones_be_absent():
    data = b"value,Quantity,STAGE,piece,azimuth_deg\n95.5,rim_height,wet,K3-01,0\n"
    assert only(parse(data)).entry.value == 95.5


def test_a_length_without_a_unit_takes_the_section_s():
    line = "K3-01,wet,dimension,height,,,4,,"
    assert only(parse(file_of(line), default_unit="in")).entry.value == 101.6
    assert only(parse(file_of("K3-01,wet,handle_twist,,,,4,,"), default_unit="in")).entry.value == 4


def test_windows_1252_is_read_and_said():
    parsed = parse(file_of(GOOD.replace("calliper", "Messkluppe für Wände"), encoding="cp1252"))
    assert only(parsed).instrument == "Messkluppe für Wände"
    assert parsed.notes == (
        "The file is not UTF-8; it was read as Windows-1252. Look at the accents.",
    )


LINE_PROBLEMS = [
    (
        "K3-01,lether hard,wall_thickness,,45,90,6.4,mm,",
        "“lether hard” is not a known stage. Did you mean leather-hard?",
    ),
    (
        "K3-01,wet,wall_thicknes,,45,90,6.4,mm,",
        "“wall_thicknes” is not a known quantity. Did you mean wall_thickness?",
    ),
    (
        "K3-01,wet,dimension,rim_diamter,,,80,mm,",
        "“rim_diamter” is not a known size. Did you mean rim_diameter?",
    ),
    (
        "K3-01,wet,seam_open,dart5,0,,8,mm,",
        "“dart5” is not a known name for seam_open. Did you mean dart4?",
    ),
    ("K3-01,wet,foot_side,,,,58,mm,", "foot_side needs a name, such as 1, 2, 3, 4."),
    ("K3-01,wet,rim_height,seam,,0,95,mm,", "rim_height takes no name; leave it empty."),
    (
        "K3-01,wet,wall_thickness,,45,,6.4,mm,",
        "wall_thickness needs azimuth_deg: on which side it is.",
    ),
    (
        "K3-01,wet,wall_thickness,,,90,6.4,mm,",
        "wall_thickness needs height_mm: where it was taken.",
    ),
    (
        "K3-01,wet,dimension,diameter,,,80,mm,",
        "A diameter needs height_mm, or is called max_diameter.",
    ),
    ("K3-01,wet,rim_height,,45,0,95,mm,", "rim_height takes no height_mm; leave it empty."),
    ("K3-01,wet,foot_side,1,,90,58,mm,", "foot_side takes no azimuth_deg; leave it empty."),
    ("K3-01,wet,wall_thickness,,45,8000,6.4,mm,", "azimuth_deg 8000 is more than two turns."),
    (
        "K3-01,wet,wall_thickness,,tall,90,6.4,mm,",
        "height_mm: “tall” is not a size. Write a number such as 6.4, 6.4 mm or 1/4 in.",
    ),
    (
        "K3-01,wet,wall_thickness,,45,90,nan,mm,",
        "“nan” is not a size. Write a number such as 6.4, 6.4 mm or 1/4 in.",
    ),
    (
        "K3-01,wet,wall_thickness,,45,90,inf,mm,",
        "“inf” is not a size. Write a number such as 6.4, 6.4 mm or 1/4 in.",
    ),
    (
        "K3-01,wet,wall_thickness,,45,90,3000,mm,",
        "3000 mm cannot be a wall; it lies between 0.1 mm and 200 mm.",
    ),
    ("K3-01,wet,wall_thickness,,45,90,-6.4,mm,", "“-6.4” is below zero; a size never is."),
    ("K3-01,wet,handle_twist,,,,3,mm,", "handle_twist is read in deg, not in mm."),
    (
        "K3-01,wet,wall_thickness,,45,90,6.4 mm,in,",
        "The value says mm and the unit column says in. Keep one.",
    ),
    (
        "K3-01,wet,wall_thickness,,45,90,6.4,furlong,",
        "“furlong” is not a unit used here. Known here: mm, cm, in.",
    ),
    (
        "K3-01,wet,wall_thickness,,45,90,,mm,",
        "The value is missing. Write it, or take the line out.",
    ),
    (",wet,wall_thickness,,45,90,6.4,mm,", "The piece's code is missing."),
    (
        "K3-01,wet,wall_thickness,,45,90,6,4,mm,calliper",
        "The line has more cells than the first row. "
        'A decimal comma needs quotes ("6,4") or semicolons between the cells.',
    ),
]


@pytest.mark.parametrize(("line", "sentence"), LINE_PROBLEMS)
def test_a_faulty_line_is_told_by_its_number_and_the_mend(line, sentence):
    parsed = parse(file_of(GOOD, line))
    assert sentences(parsed) == [(3, sentence)]
    assert len(parsed.rows) == 1


def test_lines_are_counted_as_the_spreadsheet_shows_them():
    data = "\n".join(["", HEADER, "", GOOD, ",,,,,,,,", GOOD.replace("6.4", "x"), ""]).encode()
    parsed = parse(data)
    assert [row.line for row in parsed.rows] == [4]
    assert [problem.line for problem in parsed.problems] == [6]
    assert str(parsed.problems[0]).startswith("Line 6: “x” is not a size.")


def test_a_quotation_mark_left_open_is_told_where_it_opens():
    parsed = parse(file_of(GOOD.replace("6.4", '"1/4"",in'), GOOD.replace("6.4", '"1/4"",in')))
    assert [problem.line for problem in parsed.problems] == [2]
    assert "A quotation mark opens here" in parsed.problems[0].sentence


def test_one_station_twice():
    other = GOOD.replace("6.4", "6.5").replace(",90,", ",450,")
    parsed = parse(file_of(GOOD, GOOD, other))
    assert parsed.notes == ("Line 3 says the same as line 2; it counts once.",)
    assert sentences(parsed) == [
        (
            4,
            "wall_thickness (z45 az90) of K3-01 is read twice: line 2 says 6.4 mm with calliper, "
            "line 4 says 6.5 mm with calliper. Keep one.",
        )
    ]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "The file is empty."),
        (b"\n \n", "The file is empty."),
        (b"PK\x03\x04rest", "not a CSV. In the spreadsheet choose save as, CSV."),
        (b"a\x00b,c\n", "This is not a text file."),
        (b"a,b,c\n1,2,3\n", "lacks the columns piece, stage, quantity, value."),
        (HEADER.encode(), "a header but no reading under it."),
        (b"piece,stage,quantity,valu\nA,wet,x,1\n", "Is “valu” meant for value?"),
        (
            b"piece,stage,quantity,value,heigth_mm\n",
            "“heigth_mm” is not known. Did you mean height_mm?",
        ),
        (b"piece,stage,quantity,value,value\n", "The column value stands twice"),
        (b"x" * (4 * 1024 * 1024 + 1), "larger than 4 MB"),
        ((HEADER + "\n" + (GOOD + "\n") * (MOST_ROWS + 1)).encode(), "more than 20000 rows"),
    ],
)
def test_a_file_that_is_no_table_of_readings(data, said):
    parsed = parse(data)
    assert parsed.rows == ()
    (problem,) = parsed.problems
    assert said in problem.sentence


def test_problems_of_a_hopeless_file_are_told_up_to_a_number():
    parsed = parse(file_of(*["K3-01,wet,x,,,,1,,"] * 500))
    assert len(parsed.problems) == 201
    assert parsed.problems[-1].sentence == "300 more lines have a problem; mend these first."


FORMULAS = ["=1+1", "+1", "-1+1", "@SUM(A1)", "\tx", "\rx", "＝1", "'=1", "''", "'"]


@pytest.mark.parametrize("cell", FORMULAS)
def test_no_cell_is_a_formula_on_its_way_out(cell):
    # OWASP, CSV injection: cells that begin with = + - @ tab or carriage return.
    assert guard(cell)[0] == "'"
    assert unguard(guard(cell)) == cell


@given(st.text(max_size=20))
def test_the_guard_comes_off_again(cell):
    guarded = guard(cell)
    assert not guarded.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert unguard(guarded) == cell


def test_negative_numbers_and_odd_names_come_back():
    row = dict.fromkeys(COLUMNS, "") | {
        "piece": "K3-01",
        "stage": "wet",
        "quantity": "handle_twist",
        "value": "-3.5",
        "unit": "deg",
        "instrument": '=cmd|"x"!A1, "quoted"',
    }
    data = write([row])
    (_, cells) = csv.reader(io.StringIO(data.decode("utf-8-sig")))
    assert cells[6] == "'-3.5"
    assert cells[8].startswith("'=")
    again = only(parse(data))
    assert (again.entry.value, again.instrument) == (-3.5, row["instrument"])


def entries():
    """Readings of every kind, as a hand may have written them."""
    number = st.decimals("0.5", "60", places=2).map(lambda value: f"{value:f}")
    fraction = st.tuples(st.integers(1, 2), st.sampled_from(["1/2", "3/8", "5/64"]))
    length = st.one_of(
        number.map(lambda text: (text, "mm")),
        fraction.map(lambda parts: (f"{parts[0]} {parts[1]}", "in")),
    )
    azimuth = st.integers(-720, 720).map(str)
    height = st.decimals(0, 900, places=1).map(lambda value: f"{value:f}")
    nothing = st.just("")
    kinds = st.one_of(
        st.tuples(st.just("wall_thickness"), nothing, height, azimuth, length),
        st.tuples(st.just("seam_open"), st.sampled_from(JOINS), height, nothing, length),
        st.tuples(
            st.just("dimension"), st.sampled_from(["height", "mark_2"]), nothing, nothing, length
        ),
        st.tuples(
            st.just("handle_twist"),
            nothing,
            nothing,
            nothing,
            st.integers(-90, 90).map(lambda value: (str(value), "deg")),
        ),
        st.tuples(
            st.just("water_mass"),
            st.just("brim"),
            nothing,
            nothing,
            st.integers(1, 900).map(lambda value: (str(value), "ml")),
        ),
    )
    # Backslashes and line breaks are kept out of instrument names where these are entered.
    letters = st.characters(codec="utf-8", exclude_characters="\\", exclude_categories=["C", "Z"])
    return st.tuples(
        st.from_regex(r"[A-Za-z0-9][A-Za-z0-9-]{0,15}", fullmatch=True),
        st.sampled_from(STAGES),
        kinds,
        st.text(letters, max_size=12),
    )


@settings(max_examples=150)
@given(st.lists(entries(), max_size=12))
def test_what_goes_out_comes_back_in_unchanged(drawn):
    rows, wanted = [], {}
    for piece, stage, (quantity, name, height, azimuth, (value, unit)), instrument in drawn:
        entry = read_entry(
            stage=stage,
            quantity=quantity,
            name=name,
            height_mm=height,
            azimuth_deg=azimuth,
            value=value,
            unit=unit,
        )
        if (piece, entry.key) in wanted:
            continue
        wanted[piece, entry.key] = (piece, entry, instrument)
        number, typed_unit = entry.typed.rsplit(" ", 1)
        cells = (
            piece,
            stage,
            quantity,
            entry.name,
            entry.height_mm,
            entry.azimuth_deg,
            number,
            typed_unit,
            instrument,
        )
        rows.append(dict(zip(COLUMNS, cells, strict=True)))
    data = write(rows)
    parsed = parse(data)
    if rows:
        assert parsed.problems == ()
    assert [(row.piece, row.entry, row.instrument) for row in parsed.rows] == list(wanted.values())
    back = [
        dict(
            zip(
                COLUMNS,
                (
                    r.piece,
                    r.entry.stage,
                    r.entry.quantity,
                    r.entry.name,
                    r.entry.height_mm,
                    r.entry.azimuth_deg,
                    *r.entry.typed.rsplit(" ", 1),
                    r.instrument,
                ),
                strict=True,
            )
        )
        for r in parsed.rows
    ]
    assert write(back) == data


@settings(max_examples=200)
@given(st.binary(max_size=400))
def test_any_bytes_get_an_answer(data):
    parsed = parse(data)
    assert parsed.rows or parsed.problems


@settings(max_examples=200)
@given(st.text(alphabet='K3-01,;\t"\n\r wet.mm/45\\=', max_size=200))
def test_any_lines_get_an_answer(lines):
    parsed = parse(f"{HEADER}\n{lines}".encode())
    assert parsed.rows or parsed.problems


@pytest.mark.parametrize(
    ("written", "kept"),
    [("0", 0), ("360", 0), ("-360", 0), ("-90", 270), ("450", 90), ("359.999", 0), ("-0.001", 0)],
)
def test_azimuths_lie_within_one_turn(written, kept):
    entry = read_entry(stage="wet", quantity="rim_height", azimuth_deg=written, value="95")
    assert (entry.azimuth_deg, str(entry.azimuth_deg)[0] == "-") == (kept, False)


def test_entry_errors_name_their_field():
    with pytest.raises(EntryError) as caught:
        read_entry(stage="wet", quantity="rim_height", azimuth_deg="", value="95")
    assert caught.value.field == "azimuth_deg"


@settings(max_examples=300)
@given(
    st.sampled_from(list(QUANTITIES.values())),
    st.one_of(
        st.text(max_size=50),
        st.from_regex(
            r"-?[0-9]{1,30}([.,/][0-9]{1,30})?( (mm|in|deg|g|kg|ml|cm))?", fullmatch=True
        ),
    ),
    st.sampled_from(["", "mm", "in", "deg", "ml", "x"]),
)
def test_any_value_is_plausible_or_gets_a_sentence(kind, text, unit):
    try:
        value, typed = read_value(kind, text, unit)
    except EntryError:
        return
    assert kind.lowest <= value <= kind.highest
    assert len(typed) <= Reading._meta.get_field("typed").max_length
    assert read_value(kind, *split_typed(kind.key, typed, value))[0] == value
