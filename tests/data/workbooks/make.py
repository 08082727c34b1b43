#!/usr/bin/env python3
"""Makes the workbooks that tests/workbooks.rs reads: python3 tests/data/workbooks/make.py

Those named in BY_OPENPYXL are written by openpyxl 3.1.5 (pip install openpyxl==3.1.5), which is no
part of this project. The others are zip archives of XML written out here, in shapes that other
spreadsheets and libraries write: texts inside cells (inlineStr), no shared strings, cells without
references, formulas with and without their values, data descriptors, sizes of 64 bits.
All readings are invented.
"""
import datetime
import io
import os
import zipfile

import openpyxl

HERE = os.path.dirname(os.path.abspath(__file__))
WHEN = (2026, 11, 1, 12, 0, 0)
ROWS = [
    (70, 2, 0.0021, "L1"),
    (70, 20, 0.0105, "L1"),
    (80, 2, 0.0049, "L1"),
    (80, 20, 1.9, "L2"),
    (90, 2, 0.22, "L2"),
    (90, 20, 10.4, "L2"),
]
HEADER = ["heat_temp_C", "heat_time_min", "viscosity_Pa_s", "lot"]


def fixed(book):
    book.properties.created = datetime.datetime(*WHEN)
    book.properties.modified = datetime.datetime(*WHEN)
    held = io.BytesIO()
    book.save(held)
    return repacked(held.getvalue())


def repacked(raw):
    """The same parts with one time stamp, so that the files are the same on every run."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "docProps/core.xml":
                import re
                data = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2026-11-01T12:00:00Z", data)
            info = zipfile.ZipInfo(name, WHEN)
            info.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(info, data)
    return out.getvalue()


def write(name, data):
    with open(os.path.join(HERE, name), "wb") as file:
        file.write(data)
    print(f"{name}: {len(data)} bytes")


def bench():
    """Header in row 1, numbers, a text number, a formula's value is not stored by openpyxl."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Bench"
    sheet.append(HEADER)
    for row in ROWS:
        sheet.append(row)
    sheet["A2"] = "70"
    # Blank rows that a spreadsheet remembers, because they were formatted.
    for row in range(8, 40):
        sheet.cell(row, 1).number_format = "0.0"
    return book


def several():
    """A title and remarks above the header, two sheets, a hidden one, a chart's sheet first."""
    book = openpyxl.Workbook()
    hidden = book.active
    hidden.title = "Old"
    hidden.sheet_state = "hidden"
    hidden.append(["not", "a", "bench"])
    first = book.create_sheet("Session 1")
    first["B2"] = "# Bench of November: invented data"
    first.merge_cells("B2:E2")
    first["B4"] = "# read at 25 degrees"
    for column, name in enumerate(HEADER):
        first.cell(6, 2 + column, name)
    for line, row in enumerate(ROWS):
        for column, value in enumerate(row):
            first.cell(7 + line + (1 if line > 2 else 0), 2 + column, value)
    second = book.create_sheet("Session 2")
    second.append(HEADER + ["use", "session", "note"])
    for number, row in enumerate(ROWS):
        second.append(list(row) + [number != 4, datetime.date(2026, 11, 2), "=not a formula" if number == 0 else None])
    second["G2"].data_type = "s"
    chart = book.create_chartsheet("Drawing", 0)
    assert chart is not None
    return book


def faulty():
    """What cannot be a reading, each told by its cell."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Bench"
    sheet.append(HEADER)
    for row in ROWS:
        sheet.append(row)
    sheet["B2"] = datetime.time(0, 6, 10)
    sheet["B3"] = datetime.timedelta(minutes=6, seconds=10)
    sheet["C3"] = "#N/A"
    sheet["A4"] = datetime.date(2026, 5, 1)
    sheet["C4"] = "=1/0"
    sheet["C5"] = True
    sheet["C6"] = "1,5"
    sheet["B7"] = -2
    sheet["D7"] = "#REF!"
    return book


def merged():
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Bench"
    sheet.append(HEADER)
    for row in ROWS:
        sheet.append(row)
    sheet.merge_cells("A2:A3")
    sheet.merge_cells("A20:B20")
    return book


CONTENT = """<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>"""
RELS = """<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"""
BOOK = """<?xml version="1.0" encoding="UTF-8"?>
<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Tabelle &amp; 1" sheetId="1" r:id="rId1"/></sheets></workbook>"""
BOOK_RELS = """<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"""


def by_hand(rows):
    sheet = (
        '<?xml version="1.0" encoding="UTF-8"?>\n<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        + "".join("<row>" + "".join(row) + "</row>" for row in rows)
        + "</sheetData></worksheet>"
    )
    return [
        ("[Content_Types].xml", CONTENT),
        ("_rels/.rels", RELS),
        ("xl/workbook.xml", BOOK),
        ("xl/_rels/workbook.xml.rels", BOOK_RELS),
        ("xl/worksheets/sheet1.xml", sheet),
    ]


def inline(text):
    return f'<c t="inlineStr"><is><t>{text}</t></is></c>'


def number(value):
    return f"<c><v>{value}</v></c>"


class NotSeekable(io.RawIOBase):
    """A stream that cannot go back: zipfile then writes data descriptors behind the parts."""

    def __init__(self):
        self.held = bytearray()

    def writable(self):
        return True

    def write(self, data):
        self.held += data
        return len(data)


def streamed(parts, long_sizes=False):
    sink = NotSeekable()
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts:
            info = zipfile.ZipInfo(name, WHEN)
            info.compress_type = zipfile.ZIP_DEFLATED
            with archive.open(info, "w", force_zip64=long_sizes) as part:
                part.write(text.encode())
    return bytes(sink.held)


def formulas():
    rows = [[inline(name) for name in HEADER]]
    for line, (temperature, minutes, viscosity, lot) in enumerate(ROWS):
        rows.append([
            number(temperature),
            # minutes from seconds, as a spreadsheet stores what it reckoned
            f"<c><f>{minutes * 60}/60</f><v>{minutes}</v></c>",
            f"<c><f>C1</f></c>" if line == 2 else number(viscosity),
            f'<c t="str"><f>"{lot}"</f><v>{lot}</v></c>',
        ])
    return rows


def plain_rows():
    rows = [[inline(name) for name in HEADER]]
    rows += [[number(a), number(b), number(c), inline(d)] for a, b, c, d in ROWS]
    return rows


def opendocument():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(zipfile.ZipInfo("mimetype", WHEN), "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr(zipfile.ZipInfo("content.xml", WHEN), "<office/>")
    return out.getvalue()


def blanks():
    """A worksheet of a million blanks in a thousand bytes; the tests let its directory lie about it."""
    parts = by_hand(plain_rows())
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name, text in parts[:-1]:
            archive.writestr(zipfile.ZipInfo(name, WHEN), text)
        info = zipfile.ZipInfo(parts[-1][0], WHEN)
        info.compress_type = zipfile.ZIP_DEFLATED
        archive.writestr(info, " " * 1_000_000)
    return out.getvalue()


BY_OPENPYXL = {"bench.xlsx": bench, "several.xlsx": several, "faulty.xlsx": faulty, "merged.xlsx": merged}

if __name__ == "__main__":
    for name, make in BY_OPENPYXL.items():
        write(name, fixed(make()))
    write("formulas.xlsx", streamed(by_hand(formulas())))
    write("streamed.xlsx", streamed(by_hand(plain_rows()), long_sizes=True))
    write("opendocument.zip", opendocument())
    write("blanks.xlsx", blanks())
