"""Files of rows: spreadsheets made by openpyxl itself, CSV as programs write it, and traps."""

import contextlib
import io
import random
import zipfile

import openpyxl
import pytest

from studio.people import tables
from studio.people.tables import Table, TableError


def workbook(*rows, sheets=1):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for _more in range(sheets - 1):
        book.create_sheet()
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def cells(data):
    return [row.cells for row in tables.read(data).rows]


def test_a_spreadsheet_and_a_csv_of_one_list_read_alike():
    sheet = workbook(["Name", "ID"], ["Nguyễn Văn An", 20418], ["Łukasz P.", 7.0])
    text = "Name;ID\r\nNguyễn Văn An;20418\r\nŁukasz P.;7\r\n".encode("utf-8-sig")
    assert cells(sheet) == cells(text)
    assert cells(text) == [("Name", "ID"), ("Nguyễn Văn An", "20418"), ("Łukasz P.", "7")]


@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_the_sign_between_the_cells_is_found(sign):
    assert cells(f"a{sign}b\nc{sign}d".encode()) == [("a", "b"), ("c", "d")]


def test_a_line_keeps_its_place_in_the_file():
    assert [row.line for row in tables.read(b"Name\n\n\nAmara").rows] == [1, 4]
    assert [row.line for row in tables.read(workbook(["Name"], [], ["Amara"])).rows] == [1, 3]


def test_windows_letters_are_read_and_said():
    read = tables.read("Name\nJosé".encode("cp1252"))
    assert read.rows[1].cells == ("José",)
    assert read.notes == (
        "The file is not UTF-8; it was read as Windows-1252. Look at the accents.",
    )


def test_a_formula_is_the_value_saved_beside_it():
    """What a spreadsheet saves: <f> and its <v>. openpyxl writes the formula only, so it is put
    into the part by hand."""
    plain = workbook(["Name"], ["Amara O."], [41])
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(plain)) as old, zipfile.ZipFile(out, "w") as new:
        for part in old.namelist():
            data = old.read(part)
            if part == "xl/worksheets/sheet1.xml":
                assert b"<v>41</v>" in data
                data = data.replace(b"<v>41</v>", b"<f>40+1</f><v>41</v>")
            new.writestr(part, data)
    assert cells(out.getvalue())[2] == ("41",)


def test_the_first_sheet_is_read_and_said():
    assert tables.read(workbook(["Amara"], sheets=3)).notes == (
        "The spreadsheet has 3 sheets; the first one was read.",
    )


def bomb():
    out = io.BytesIO(workbook(["Name"]))
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as parcel:
        parcel.writestr("xl/media/large.bin", bytes(tables.MOST_UNPACKED + 1))
    return out.getvalue()


def with_doctype():
    out = io.BytesIO(workbook(["Name"]))
    with zipfile.ZipFile(out, "a") as parcel:
        parcel.writestr("xl/more.xml", '<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>')
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "has no rows"),
        (b"\n \n", "has no rows"),
        (b"a\x00b", "not a text file"),
        (b'Name\n"Amara', None),
        (b"\xd0\xcf\x11\xe0 old", "password or of an old kind"),
        (b"PK\x03\x04 nothing", "damaged or was cut off"),
        (b"x" * (tables.MOST_BYTES + 1), "more than 2 MB"),
        (b"a\n" * (tables.MOST_ROWS + 1), "more than 1000 rows"),
        (b"," * tables.MOST_COLUMNS + b"a", "more than 40 columns"),
    ],
)
def test_what_is_no_list_is_told(data, said):
    if said is None:  # an open quotation mark runs to the end: a name over the rest of the file
        assert cells(data) == [("Name",), ("Amara",)]
        return
    with pytest.raises(TableError, match=said):
        tables.read(data)


def test_traps_are_not_opened():
    data = bomb()
    assert len(data) < 100_000  # what arrives is small
    with pytest.raises(TableError, match="unpacks to more than 24 MB"):
        tables.read(data)
    with pytest.raises(TableError, match="document type"):
        tables.read(with_doctype())
    whole = workbook(["Name"], ["Amara"])
    with pytest.raises(TableError, match="damaged"):
        tables.read(whole[: len(whole) // 2])


def test_a_table_comes_back_from_the_page_as_it_went():
    table = tables.read("Name;ID\nÅsa “Ö” <b>;1\n\nBo;2".encode())
    assert Table.from_text(table.as_text()).rows == table.rows


@pytest.mark.parametrize("text", ["", "[", "[[]]", '{"a": 1}', '[["x", "y"]]', "[1]", "[]"])
def test_what_comes_back_otherwise_is_refused(text):
    with pytest.raises(TableError):
        Table.from_text(text)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-16-be", "utf-32"])
@pytest.mark.parametrize("part", ["xl/worksheets/sheet1.xml", "xl/rows.bin"])
def test_a_document_type_is_refused_in_any_encoding_and_any_part(encoding, part):
    trap = '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "bbbbbbbb">]><a>&b;</a>'
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook(["Amara"]))) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            if name != part:
                new.writestr(name, old.read(name))
        new.writestr(part, trap.encode(encoding))
    with pytest.raises(TableError, match="a document type, which no spreadsheet needs"):
        tables.read(out.getvalue())


@pytest.mark.parametrize("seed", range(8))
def test_a_damaged_spreadsheet_is_a_sentence(seed):
    whole = workbook(["Name", "ID"], *([f"Student {n}", n] for n in range(30)))
    chance = random.Random(seed)
    for _ in range(40):
        data = bytearray(whole)
        for _flip in range(chance.choice((1, 3, 20))):
            data[chance.randrange(4, len(data))] = chance.randrange(256)
        if chance.random() < 0.2:
            del data[chance.randrange(4, len(data)) :]
        with contextlib.suppress(TableError):
            tables.read(bytes(data))


def test_half_a_sign_in_what_a_page_carried_is_a_sentence():
    # RFC 8259, section 8.2: JSON can spell it.
    for text in ('[[1, "a\\ud800"]]', '[[1, "a\\u0000"]]', "[" * 100_000):
        with pytest.raises(TableError, match="did not come back whole"):
            Table.from_text(text)
