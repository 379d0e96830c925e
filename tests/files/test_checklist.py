"""Checklists as museums keep them: written by other libraries here, read back by ours."""

import csv

import openpyxl
import pytest

from scanprep.brief import KnownSize, ObjectBrief, Region
from scanprep.errors import InputError, InputFaultsError
from scanprep.files.checklist import left_aside, read_checklist, read_whole_checklist


def csv_file(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "list.csv"
    path.write_bytes(text.encode(encoding))
    return path


def test_every_column_becomes_its_field(tmp_path):
    heads = ["number", "title", "material", "scan", "unit", "known size", "mass", "wall", "condition", "pieces", "up",
             "front", "attitude", "tilt", "turn", "roll", "group", "order", "panel", "face", "x", "y", "tip limit",
             "pad", "no touch", "note"]
    cells = ["FB-014", "Ring", "bronze", "scans/FB-014/ring.ply", "mm", "height 92 mm; diameter 3 5/8 in", "8.5 oz",
             "4 mm", "sound, chip at rim", "2", "+y", "0.12 0.98 -0.10", "Face-on", "10", "-5", "2.5", "rings", "3",
             "West", "A", "210 mm", "60 in", "2 N", "felt", "ball 1 2 3 4 mm painted rim; box 0 0 0 1 1 2 cm", "shy"]
    path = tmp_path / "list.csv"
    with path.open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream).writerows([heads, cells])
    (brief,) = read_checklist(path)
    # front: (0.12, 0.98, -0.10) over its length sqrt(0.0144 + 0.9604 + 0.01) = 0.992371
    # 8.5 oz = 8.5 x 453.59237 / 16 g; 3 5/8 in = 3.625 x 25.4 mm; 60 in = 1524 mm (exact definitions of 1959)
    assert brief == ObjectBrief(
        number="FB-014", title="Ring", material="bronze", scan="scans/FB-014/ring.ply", unit="mm",
        sizes=(KnownSize("height", 92.0), KnownSize("diameter", pytest.approx(92.075))),
        mass_g=pytest.approx(240.97094656),
        wall_mm=4.0, condition="sound", pieces=2, up=(0, 1, 0),
        front=pytest.approx((0.120923, 0.987534, -0.100769), abs=1e-6), attitude="face-on",
        tilt_deg=10.0, turn_deg=-5.0, roll_deg=2.5, group="rings", order=3.0, panel="West", face="A", datum_x_mm=210.0,
        y_mm=pytest.approx(1524.0), tip_limit_N=2.0, pad="felt",
        no_touch=(Region("ball", (1, 2, 3), (4, 0, 0), why="painted rim"), Region("box", (0, 0, 0), (10, 10, 20))),
        note="shy; condition: sound, chip at rim",
    )


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_accents_survive_every_usual_encoding_and_delimiter(tmp_path, encoding, delimiter):
    rows = [["Title", "Number"], ["Œuf d’Été", "Ä-1"]]
    path = csv_file(tmp_path, "\r\n".join(delimiter.join(row) for row in rows), encoding)
    assert [(w.number, w.title) for w in read_checklist(path)] == [("Ä-1", "Œuf d’Été")]


def test_order_of_columns_and_blank_rows_do_not_matter(tmp_path):
    one = read_checklist(csv_file(tmp_path, "number,title,mass\n1,bowl,240 g\n\n,,\n2,cup,1 kg\n"))
    moved = "Our list of 2020\n\nWeight,Object number,Lender,Title\n240 g,1,X,bowl\n1 kg,2,,cup\n"
    other = read_checklist(csv_file(tmp_path, moved))
    assert one == other


def test_units_come_from_the_cell_first_then_from_the_head(tmp_path):
    path = csv_file(tmp_path, 'number,Height (cm),Wt. (oz),Width_mm\n1,9.2,8,45\n2,"3 5/8""",240 g,4.5 cm\n')
    first, second = read_checklist(path)
    assert first.sizes == (KnownSize("height", pytest.approx(92.0)), KnownSize("width", 45.0))
    assert first.mass_g == pytest.approx(8 * 453.59237 / 16)
    assert second.sizes == (KnownSize("height", pytest.approx(92.075)), KnownSize("width", 45.0))
    assert second.mass_g == 240.0


def test_a_line_of_labelled_dimensions_is_understood_and_an_unlabelled_one_refused(tmp_path):
    with pytest.raises(InputFaultsError, match="does not say which number is which"):
        read_checklist(csv_file(tmp_path, "number,dimensions\n1,9.2 x 4.5 x 4.5 cm\n"))
    path = csv_file(tmp_path, "number,dimensions\n1,H. 9.2 × W. 4.5 × D. 4.0 cm\n2,Diam: 3 1/2 in; H 2 in\n")
    first, second = read_checklist(path)
    assert [(s.kind, round(s.value_mm, 6)) for s in first.sizes] == [("height", 92), ("width", 45), ("depth", 40)]
    assert [(s.kind, round(s.value_mm, 6)) for s in second.sizes] == [("diameter", 88.9), ("height", 50.8)]


def test_a_mapping_reads_any_heading(tmp_path):
    path = csv_file(tmp_path, "Inventarnummer;Bezeichnung;Höhe;Gewicht\nA 1;Schale;9,2;240\n")
    mapping = (("Inventarnummer", "number"), ("Bezeichnung", "title"), ("Höhe", "height cm"), ("Gewicht", "mass g"))
    (brief,) = read_checklist(path, mapping)
    assert (brief.number, brief.title, brief.mass_g) == ("A 1", "Schale", 240.0)
    assert brief.sizes == (KnownSize("height", pytest.approx(92.0)),)
    with pytest.raises(InputError, match=r"is not a field of the checklist\. Write one of: height"):
        read_checklist(path, (("Höhe", "heigth"),))


def test_every_fault_is_reported_at_once_with_its_row(tmp_path):
    path = csv_file(tmp_path, "number,title,mass,face,x,y,material,pieces,tilt\n"
                    "1,bowl,240,A,10 mm,,bronze,1,\n"
                    "2,cup,\"1,250 g\",C,,,bronce,1.5,400\n"
                    "2,dish,240 g,A,10 mm,20 mm,bronze,1,\n"
                    ",lid,1 g,,,,,1,\n")
    with pytest.raises(InputFaultsError) as told:
        read_checklist(path)
    text = str(told.value)
    for part in ("row 2, mass: '240' is not a mass", "has only one of x and y",
                 "row 3, mass: '1,250 g' can be read in two", "'C' is not a face",
                 "is not in the materials table. Write one of: bronze", "'1.5' is not a whole number",
                 "row 3, tilt: '400' is more than half a turn", "has x and y but no panel and face",
                 "row 5, number: an object without a number",
                 "= 2: stands there twice"):
        assert part in text, part
    assert all(str(path) in str(error) for error in told.value.errors)
    assert told.value.exit_code == 3


def test_a_spreadsheet_with_merged_cells_two_head_rows_and_group_rows(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Checklist, spring display"])
    sheet.merge_cells("A1:F1")
    sheet.append(["No.", "Title", "Size (cm)", None, None, "Panel"])
    sheet.append([None, None, "H", "W", "D", None])
    for block in ("A2:A3", "B2:B3", "C2:E2", "F2:F3"):
        sheet.merge_cells(block)
    sheet.append(["Seals"])
    sheet.merge_cells("A4:F4")
    sheet.append([1984.1, "Seal", 2.5, 1.5, 1.5, "West"])
    sheet["A5"].number_format = "0.00"
    sheet.append([1985, "Séal", "1 in", 2, 2, None])
    sheet.merge_cells("F5:F6")
    sheet.append([])
    sheet.append([None, "Beads"])
    sheet.append(["B/3", "Bead", 1, 1, 1, "East"])
    path = tmp_path / "list.xlsx"
    book.save(path)
    first, second, third = read_checklist(path)
    assert (first.number, first.group, first.panel) == ("1984.10", "Seals", "West")
    assert first.sizes == (KnownSize("height", 25.0), KnownSize("width", 15.0), KnownSize("depth", 15.0))
    assert (second.number, second.title, second.panel) == ("1985", "Séal", "West")
    assert second.sizes[0] == KnownSize("height", pytest.approx(25.4))
    assert (third.number, third.group, third.panel) == ("B/3", "Beads", "East")


def test_dates_and_unsolved_formulas_are_refused(tmp_path):
    from datetime import date

    book = openpyxl.Workbook()
    book.active.append(["number", "title", "mass (g)"])
    book.active.append([date(1984, 10, 3), "Seal", 5])
    book.active.append(["2", "Bead", "=1+1"])
    path = tmp_path / "list.xlsx"
    book.save(path)
    with pytest.raises(InputFaultsError, match=r"(?s)holds a date.*formula that was never worked out"):
        read_checklist(path)


def test_an_address_is_the_case_files_to_say(tmp_path):
    with pytest.raises(InputFaultsError, match=r"row 2, scan: 's3://a/jug.ply' is an address.*scans_at in case.toml"):
        read_checklist(csv_file(tmp_path, "number,scan\n1,s3://a/jug.ply\n"))
    assert read_checklist(csv_file(tmp_path, "number,scan\n1,C:\\a\\jug.ply\n"))[0].scan == "C:/a/jug.ply"


def test_columns_left_aside_are_told_and_slips_of_the_pen_named(tmp_path):
    read = read_whole_checklist(csv_file(tmp_path, "number,title,Lender,materal\n1,bowl,X,bronze\n"))
    assert read.not_read == ("Lender", "materal")
    # by eye: one letter is missing
    assert left_aside(read.not_read) == ("column 'Lender' was not read",
                                         "column 'materal' was not read; is it material?")


@pytest.mark.parametrize(
    ("name", "content", "problem"),
    [
        ("list.xlsx", b"not a workbook", "cannot be opened as a spreadsheet"),
        ("list.csv", b"a,b\n1,2\n", "no row of column heads"),
        ("list.csv", b"number,title\n", "lists no object"),
        ("list.csv", b"", "no row of column heads"),
        ("list.csv", b"\x00\x01\x02\xff", "is not a text file"),
        ("list.docx", b"x", "ending in .docx cannot be read"),
        ("list.csv", b"number,title,name\n1,a,b\n", "is a second column for title"),
    ],
)
def test_a_file_that_is_no_checklist_is_one_sentence(tmp_path, name, content, problem):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises((InputError, InputFaultsError), match=problem):
        read_checklist(path)
    with pytest.raises(InputError, match="is not there"):
        read_checklist(tmp_path / "none.csv")


def test_a_front_along_the_up_is_a_fault(tmp_path):
    path = csv_file(tmp_path, "number,title,up,front\n1,bowl,+y,-y\n2,cup,+y,+z\n3,dish,,+y\n")
    with pytest.raises(InputFaultsError, match="row 2 = 1: has its front along its up") as told:
        read_checklist(path)
    assert len(told.value.errors) == 1


@pytest.mark.parametrize(("text", "word"), [
    ("sound, lid hinged", "hinged"), ("Loose in its setting", "loose"), ("strung, two beads loose", "strung"),
    ("sound, not loose", ""), ("no moving parts", ""), ("sound", ""), ("loosely wrapped", "")])
def test_a_condition_says_whether_a_part_moves(tmp_path, text, word):
    (brief,) = read_checklist(csv_file(tmp_path, f'number,condition\n7,"{text}"\n'))
    assert brief.moving == word
