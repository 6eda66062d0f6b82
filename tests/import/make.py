"""Writes the spreadsheets that tests/import.rs reads, as people keep them; all invented, set in Kestrow.

    python3 tests/import/make.py

It needs openpyxl and odfpy. The files it writes are in the repository, so nothing here runs in a build.

- lamp-schedule.xlsx: a lamp schedule of a rescue truck with title rows over merged cells, words for places, inches with
  quote marks, quantities, a heading between rows, a sum, a cell that is not known, and a second sheet of photographs.
- lamp-schedule-edited.xlsx: the same a week later; a column was put in before the others, a lamp added, one gone, two moved.
- lamps-and-fuses.csv: semicolons, a byte order mark, decimal commas, millimetres, a circuit and fuse beside each lamp.
- wiring.ods: a wiring schedule with gauges, colours of wire, remarks and blank rows.
"""

import datetime
import pathlib

from odf import opendocument, table, text
from openpyxl import Workbook

HERE = pathlib.Path(__file__).parent
DAY = datetime.datetime(2026, 3, 2, 8, 0, 0)

HEAD = ["Item", "Qty", "Part No.", "Colour", "Location", "From front", "Off centre", "Height to lens centre", "Ckt", "Switch",
        "Remarks"]
ROWS = [
    ["L1", 1, "EX-410", "Red/White", "DS grille", '3"', '15"', '44"', "W-1", "F1", None],
    ["L2", 1, "EX-410", "Red/White", "PS grille", '3"', '15"', '44"', "W-1", "F2", None],
    ["L3", 2, "EX-620", "Red", "Both sides, lower, ahead of rear wheel", "17' 0\"", '49 3/8"', '36"', "W-2", "S1", "flush"],
    "REAR",
    ["L4", 1, "EX-700", "Amber", "Rear upper left", "330 in", "14", '117"', "W-3", "R1", None],
    ["L5", 1, "EX-700", "Red", "Rear upper left corner", "330 in", "44", '117"', "W-3", "R2", None],
    ["L6", 3, "EX-700", "Amber", "Rear centre", "330 in", "0", '104"', "W-3", "R3", "row of three"],
    ["L7", 1, "EX-900", "Clear", "Rear scene, left", "330 in", "34", "TBD", "W-4", "D1", "work light"],
    ["L8", 1, "EX-700", "Red", "Rear lower right", "330 in", "45", "~38", "W-3", "R4", None],
]
TITLE = ["Rescue 9 - lamp schedule", "Kestrow Rescue (invented), drawing 9-114, sheet 2; dimensions in inches"]


def schedule(path, head, rows, shift):
    book = Workbook()
    sheet = book.active
    sheet.title = "Lamps"
    for row, line in enumerate(TITLE, 1):
        sheet.cell(row, 1, line)
        sheet.merge_cells(start_row=row, start_column=1, end_row=row, end_column=len(head))
    sheet.append([])
    sheet.append(head)
    lamps = 0
    for row in rows:
        if isinstance(row, str):
            sheet.append([row])
            sheet.merge_cells(start_row=sheet.max_row, start_column=1, end_row=sheet.max_row, end_column=len(head))
        else:
            sheet.append([None] * shift + row)
            lamps += row[1]
    sheet.append([None] * shift + ["Total", lamps])
    photographs = book.create_sheet("Photographs")
    photographs.append(["front", "taken from 20 ft"])
    photographs.append(["=HYPERLINK(\"nowhere\")", "not a formula"])
    photographs["A2"].data_type = "s"
    # One circuit cell speaks of the two lamps of the grille.
    merged = sheet.cell(5, shift + 9)
    sheet.cell(6, shift + 9).value = None
    sheet.merge_cells(start_row=5, start_column=merged.column, end_row=6, end_column=merged.column)
    book.properties.created = book.properties.modified = DAY
    book.save(path)


def edited():
    rows = [list(row) if isinstance(row, list) else row for row in ROWS if not (isinstance(row, list) and row[0] == "L2")]
    for row in rows:
        if isinstance(row, list):
            if row[0] == "L4":
                row[7] = '112"'
            if row[0] == "L8":
                row[7] = '38"'
            row.insert(0, "ok")
    rows.insert(1, ["ok", "L9", 1, "EX-410", "Red", "PS grille", '4"', '12"', '40"', "W-1", "F2", None])
    head = ["Seen"] + HEAD
    book = Workbook()
    sheet = book.active
    sheet.title = "Lamps"
    for line in TITLE:
        sheet.append([line])
    sheet.append([])
    sheet.append(head)
    for row in rows:
        sheet.append([row] if isinstance(row, str) else row)
    book.properties.created = book.properties.modified = DAY
    book.save(HERE / "lamp-schedule-edited.xlsx")


CSV = """Vehicle list 3, service pickup (invented);;;;;;;;;;;
;;;;;;;;;;;
Lamp;Type;Colour;Facing;Behind front (mm);Right of centre (mm);Height (mm);Circuit;Fuse (A);Fuse type;Wire (mm2);Wire length (m)
bar-1;EX-300;amber;front;1750,5;-610;2010;bar;15;blade;2,5;4,25
bar-2;EX-300;amber;front;1750,5;610;2010;bar;15;blade;2,5;4,25
rear-1;EX-310;amber;rear;5290;-520,5;1016,0;rear;10;blade;1,5;7
rear-2;EX-310;amber;rear;5290;520,5;1.016;rear;7,5;blade;1,5;7
side-1;EX-310;amber;270;3100;-1010;980;side;10;;1,5;
mast "long";EX-320;amber;all round;2600;0;2450;;;;;
"""

WIRING = [
    ["Wiring schedule, Patrol pickup 3 (invented)"],
    [],
    ["Circuit", "Fed from", "Fuse", "Gauge", "Colour", "Length (ft)", "Insulation", "Load", "Notes"],
    ["Bar feed", "main-battery", "30 A blade", "10 AWG", "red", "12", "105 degC", "light bar", "through the bulkhead"],
    [],
    ["grille", "Bar feed", "10 A blade", "16 AWG", "red/white", "6.5", "105 degC", "two grille lamps", ""],
    ["rear", "main-battery", "20A", "14 ga", "yellow", "22", "105 degC", "rear lamps", "check on the vehicle"],
    [],
    [],
    ["siren", "main-battery", "25 A breaker", "12 AWG", "orange", "9'", "105 degC", "siren amplifier", "=HYPERLINK(\"nowhere\")"],
    ["spare", "", "", "", "", "", "", "", "not fitted"],
    ["radio", "", "7.5 A blade", "14 AWG", "white", "about 8", "", "radio", ""],
]


def wiring():
    book = opendocument.OpenDocumentSpreadsheet()
    sheet = table.Table(name="Wiring")
    for row in WIRING:
        line = table.TableRow()
        for cell in row:
            if cell == "":
                line.addElement(table.TableCell())
                continue
            one = table.TableCell(valuetype="string")
            one.addElement(text.P(text=cell))
            line.addElement(one)
        sheet.addElement(line)
    blank = table.TableRow(numberrowsrepeated="1048000")
    blank.addElement(table.TableCell(numbercolumnsrepeated="1024"))
    sheet.addElement(blank)
    book.spreadsheet.addElement(sheet)
    book.save(str(HERE / "wiring.ods"))


schedule(HERE / "lamp-schedule.xlsx", HEAD, ROWS, 0)
edited()
(HERE / "lamps-and-fuses.csv").write_bytes(b"\xef\xbb\xbf" + CSV.encode().replace(b"\n", b"\r\n"))
wiring()
