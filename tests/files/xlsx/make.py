#!/usr/bin/env python3
"""Makes the spreadsheets beside it (openpyxl 3.0.9 of Debian's python3-openpyxl):

    python3 make.py

Dates of creation are fixed, zip times are not, so a second run gives other bytes with the same
content. Everything in them is invented.
"""
import datetime
import os
import zipfile

import openpyxl

os.chdir(os.path.dirname(os.path.abspath(__file__)))
made = datetime.datetime(2025, 6, 17)


def save(book, name):
    book.properties.created = book.properties.modified = made
    book.save(name)


book = openpyxl.Workbook()
hidden = book.active
hidden.title = "Old"
hidden.append(["nothing", "here"])
hidden.sheet_state = "hidden"
sheet = book.create_sheet("Points")
sheet.append(["Terrace, day 1"])
sheet.append(["when", "clock", "A", "Ci", "remark", "use"])
sheet.append(["", "", "umol m-2 s-1", "umol mol-1", "", ""])
rows = [
    (datetime.datetime(2025, 6, 17, 9, 14, 20), datetime.time(9, 14, 20), 12.0619, 304.925, None, True),
    (datetime.datetime(2025, 6, 17, 9, 17, 9, 500000), datetime.time(9, 17, 9), 1 / 3, 210.135, 'a "quoted" word, and a comma', True),
    (datetime.date(2025, 6, 18), datetime.time(0, 0), -2.5e-7, 138, "two\nlines and a\ttab", False),
]
for row in rows:
    sheet.append(row)
sheet.append([None, None, None, None, "written by hand"])
sheet.merge_cells("A1:C1")
book.create_sheet("Empty")
save(book, "points.xlsx")

book = openpyxl.Workbook()
sheet = book.active
sheet.title = "Points"
sheet.append(["A", "Ci"])
sheet.append([1.5, 100])
sheet.append(["=A2*2", 200])
sheet.append(["=A3*2", "=B3+1"])
save(book, "formula.xlsx")

# A part of 4 MB that packs to 4 kB.
with zipfile.ZipFile("bomb.xlsx", "w", zipfile.ZIP_DEFLATED) as out:
    with zipfile.ZipFile("formula.xlsx") as source:
        for name in source.namelist():
            body = source.read(name)
            if name == "xl/worksheets/sheet1.xml":
                body = body.replace(b"<sheetData>", b"<sheetData>" + b" " * 4_000_000)
            out.writestr(name, body)
