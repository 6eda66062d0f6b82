"""Opens a workbook that `wayproof report --as workbook` wrote with openpyxl, and compares it with the record of the same
vehicle (`wayproof check --format json`).

    python3 tests/reference/workbook.py WORKBOOK.xlsx RECORD.json

Prints one CSV row a sheet: sheet, rows, numbers, texts. Ends with an error where anything is not as it should be: a cell that
is a formula or an error, a head that scrolls away, no filter, no print area, no head on each printed page, numbers that are
texts, findings that are not those of the record.
"""

import json
import sys

import openpyxl
from openpyxl.utils import get_column_letter

EXPECTED = ["About", "Lamps", "Findings", "Bearings", "Load analysis", "Circuits", "Readings", "Sources", "Evidence"]
# Columns of numbers whose unit stands beside them, or that have none.
NO_UNIT = {"limit", "limit to", "found", "computed", "reading", "expanded uncertainty"}


def main():
    book = openpyxl.load_workbook(sys.argv[1])
    record = json.load(open(sys.argv[2], encoding="utf-8"))
    assert book.sheetnames == EXPECTED, book.sheetnames
    print("sheet,rows,numbers,texts")
    for sheet in book:
        numbers = texts = 0
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type in ("n", "s"), f"{sheet.title}!{cell.coordinate}: {cell.data_type}"
                if cell.value is None:
                    continue
                if isinstance(cell.value, (int, float)) and not isinstance(cell.value, bool):
                    numbers += 1
                else:
                    assert isinstance(cell.value, str), cell.coordinate
                    texts += 1
        last = f"{get_column_letter(sheet.max_column)}{sheet.max_row}"
        assert sheet.print_area == f"'{sheet.title}'!$A$1:${get_column_letter(sheet.max_column)}${sheet.max_row}", sheet.print_area
        if sheet.title != "About":
            assert sheet.freeze_panes and sheet.freeze_panes[1:] == "2", (sheet.title, sheet.freeze_panes)
            assert sheet.auto_filter.ref == f"A1:{last}", (sheet.title, sheet.auto_filter.ref)
            assert sheet.print_title_rows == "$1:$1", (sheet.title, sheet.print_title_rows)
            units(sheet)
        print(f"{sheet.title},{sheet.max_row},{numbers},{texts}")
    findings(book["Findings"], record)


def units(sheet):
    """A column of numbers says its unit in its head."""
    heads = [cell.value for cell in sheet[1]]
    assert len(set(heads)) == len(heads), (sheet.title, heads)
    for at, head in enumerate(heads):
        cells = [row[at] for row in sheet.iter_rows(min_row=2, values_only=True) if row[at] is not None]
        if any(isinstance(cell, (int, float)) for cell in cells):
            assert "(" in head or head in NO_UNIT, (sheet.title, head)
            # Of columns of figures only those of the bearings, and answers beside readings, hold words too.
            if sheet.title not in ("Bearings", "Readings"):
                assert all(isinstance(cell, (int, float)) for cell in cells), (sheet.title, head)


def findings(sheet, record):
    rows = list(sheet.iter_rows(values_only=True))
    heads = rows[0]
    found = {row[0]: dict(zip(heads, row)) for row in rows[1:]}
    everything = record["findings"] + record["cautions"]
    assert len(found) == len({finding["id"] for finding in everything}) and found, (len(found), len(everything))
    compared = 0
    for finding in record["findings"]:
        row = found[finding["id"]]
        assert row["verdict"] == finding["verdict"], finding["id"]
        assert row["what is asked"], finding["id"]
        for key, head in [("found", "found"), ("limit", "limit"), ("margin", "margin (share of the limit, of levels dB)")]:
            value = finding.get(key)
            if isinstance(value, dict):
                assert (row["limit"], row["limit to"]) == (value["from"], value["to"]), finding["id"]
            elif isinstance(value, (int, float)):
                # The file format writes no more than the digits that tell a number from its neighbours.
                assert row[head] == value, (finding["id"], key, row[head], value)
                compared += 1
            elif value is None:
                assert row[head] is None, (finding["id"], key)
    assert compared > 100, compared


if __name__ == "__main__":
    main()
