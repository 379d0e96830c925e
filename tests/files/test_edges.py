"""What strangers' files may hold: pipes, bombs, endless components, invisible characters, names that collide."""

import io
import os
import sys
import time
import zipfile

import openpyxl
import pytest

from scanprep.brief import ObjectBrief
from scanprep.case.record.fold import fold
from scanprep.case.record.intake import intake
from scanprep.errors import InputError, InputFaultsError, ScanError
from scanprep.file_names import safe_name
from scanprep.files.case_file import read_case
from scanprep.files.checklist import read_checklist
from scanprep.files.meshes import read_mesh
from scanprep.plain_text import visible
from scanprep.vectors import parse_direction
from tests.cli.test_commands import run_apart as run


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "scan.ply")
    with pytest.raises(ScanError, match="no regular file"):
        read_mesh(tmp_path / "scan.ply")


def model_3mf(objects):
    return ('<?xml version="1.0"?><model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">'
            f"<resources>{objects}</resources><build><item objectid=\"0\"/></build></model>")


def test_components_that_name_each_other_tenfold_end_in_a_sentence(tmp_path):
    # ten levels of ten children each are 10^10 visits; none holds a mesh, so counting meshes would never stop it
    ten = [f'<component objectid="{k + 1}"/>' * 10 for k in range(10)]
    levels = "".join(f'<object id="{k}"><components>{ten[k]}</components></object>' for k in range(10))
    levels += '<object id="10"><components/></object>'
    with zipfile.ZipFile(tmp_path / "deep.3mf", "w") as archive:
        archive.writestr("3D/3dmodel.model", model_3mf(levels))
    began = time.process_time()
    with pytest.raises(ScanError, match="never end"):
        read_mesh(tmp_path / "deep.3mf")
    assert time.process_time() - began < 20


@pytest.mark.parametrize("name", ["bomb.zip", "bomb.3mf"])
def test_a_zip_bomb_is_refused_before_it_is_unpacked(tmp_path, name):
    member = "3D/3dmodel.model" if name.endswith("3mf") else "scan.ply"
    with zipfile.ZipFile(tmp_path / name, "w", zipfile.ZIP_DEFLATED) as archive, archive.open(member, "w") as out:
        for _ in range(60):
            out.write(bytes(1 << 20))
    with pytest.raises(ScanError, match="absurd size"):
        read_mesh(tmp_path / name)


def test_a_text_mesh_that_packs_well_is_no_bomb(tmp_path):
    # a flat grid: as regular as a scan can be
    n = 120
    points = "".join(f"v {x} {y} 0\n" for y in range(n) for x in range(n))
    corners = [y * n + x + 1 for y in range(n - 1) for x in range(n - 1)]
    faces = "".join(f"f {c} {c + 1} {c + n}\n" for c in corners)
    with zipfile.ZipFile(tmp_path / "grid.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("grid.obj", points + faces)
    assert len(read_mesh(tmp_path / "grid.zip").faces) == (n - 1) ** 2


def sheet(path, rows, stray=0):
    book = openpyxl.Workbook()
    page = book.active
    for row in rows:
        page.append(row)
    for k in range(stray):
        page.cell(len(rows) + 2 + k, 3).number_format = "0.00"
    book.save(path)
    return path


def test_rows_that_were_only_formatted_cost_nothing_worth_telling(tmp_path):
    heads = ["Number", "Title", "Scan"]
    began = time.process_time()
    read_checklist(sheet(tmp_path / "a.xlsx", [heads, ["1", "cup", "a.ply"]]))
    plain = time.process_time() - began
    began = time.process_time()
    found = read_checklist(sheet(tmp_path / "b.xlsx", [heads, ["1", "cup", "a.ply"]], stray=4000))
    # linear: 4000 stray rows cost what openpyxl needs to write and read them (well below 2 ms a row); it was quadratic
    assert time.process_time() - began < plain + 8
    assert [brief.number for brief in found] == ["1"]


def test_a_sheet_with_something_in_its_last_row_is_refused(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["Number", "Title", "Scan"])
    book.active.cell(1_000_000, 2).value = "x"
    book.save(tmp_path / "far.xlsx")
    with pytest.raises(InputError, match="row 1000000"):
        read_checklist(tmp_path / "far.xlsx")


def test_a_workbook_bomb_is_refused_before_it_is_read(tmp_path):
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("xl/workbook.xml", "w") as out:
        for _ in range(201):
            out.write(bytes(1 << 20))
    (tmp_path / "bomb.xlsx").write_bytes(content.getvalue())
    with pytest.raises(InputError, match="unpacks to 201 MB"):
        read_checklist(tmp_path / "bomb.xlsx")


@pytest.mark.parametrize("value", ["nan", "inf", "-inf"])
def test_no_limit_of_a_case_is_infinite_or_no_number(tmp_path, value):
    (tmp_path / "case.toml").write_text(f'title = "x"\n[site]\nacceleration_g = {value}\n')
    with pytest.raises(InputFaultsError, match="finite"):
        read_case(tmp_path / "case.toml")


@pytest.mark.parametrize("text", ["nan 0 1", "inf 0 0", "0 0 0", "1e999 0 0"])
def test_a_direction_is_finite_and_has_a_length(text):
    with pytest.raises(ValueError, match="is not a direction"):
        parse_direction(text)


NAMES = ["A/1", "A-1", "A 1", "A:1", "a" * 250, "b" * 60 + "1", "b" * 60 + "2", "CON", "nul.txt", "..", ".", "", "ä1",
         "1.", "tab\tbed", "../../etc"]


def test_file_names_are_apart_bounded_and_taken_everywhere():
    files = [safe_name(name) for name in NAMES]
    assert len(set(files)) == len(NAMES)
    for file in files:
        # 255 bytes are what common file systems take; Windows refuses these characters, device names and a last dot
        assert 0 < len(file.encode()) <= 255 - 20
        assert not set(file) & set('/\\:*?"<>|') and file not in (".", "..") and not file.endswith((".", " "))
        assert file.upper() not in ("CON", "NUL.TXT") and all(c.isprintable() for c in file)


def test_plain_numbers_keep_their_name():
    assert [safe_name(name) for name in ("FB-001", "1998.12.4", "West Wall")] == ["FB-001", "1998.12.4", "West Wall"]


@pytest.mark.parametrize("number", ["FB-\u202e100", "1\x1b[2J", "\u200b7", "x" * 61])
def test_a_number_nobody_could_read_on_a_label_is_refused(number):
    with pytest.raises(InputError, match="label"):
        intake(fold(()), [ObjectBrief(number, "cup")], ())


def test_numbers_that_differ_in_capitals_only_are_refused():
    with pytest.raises(InputError, match="capitals"):
        intake(fold(()), [ObjectBrief("a1", "cup"), ObjectBrief("A1", "jug")], ())


def test_direction_and_control_characters_are_shown():
    assert visible("tidy Ümlaut 茶\n\tok") == "tidy Ümlaut 茶\n\tok"
    assert visible("\u202e\x1b\u200f\x85\u2028") == "<U+202E><U+001B><U+200F><U+0085><U+2028>"


def test_the_terminal_never_gets_them(tmp_path):
    told = run("spec", tmp_path / "no\u202esuch\x1b[2J.ply", "--unit", "mm")
    assert told.returncode == 3
    assert "<U+202E>" in told.stderr and "\x1b" not in told.stderr and "\u202e" not in told.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX locales")
def test_a_locale_without_letters_prints_all_the_same(tmp_path, monkeypatch):
    monkeypatch.setenv("LC_ALL", "C")
    monkeypatch.setenv("PYTHONUTF8", "0")
    monkeypatch.setenv("PYTHONCOERCECLOCALE", "0")
    monkeypatch.setenv("PYTHONIOENCODING", "ascii")
    told = run("spec", tmp_path / "Schüssel.ply", "--unit", "mm")
    assert told.returncode == 3 and "Traceback" not in told.stderr
