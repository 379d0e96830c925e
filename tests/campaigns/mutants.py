"""Mutants of everything that is read: scans, checklists, case files, records, tables of measurements, page messages.

Every seventh scan that is read goes through cleaning and survey too, unless the same mesh did before: that takes a
hundred times as long as reading it. A checklist goes on into intake, a case file onto a record, an import into a case
that must open again, a message onto the record of a case.
"""

from __future__ import annotations

import hashlib
import io
import json
import math
import random
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import DracoPy
import numpy as np
import openpyxl

from scanprep.brief import KnownSize, ObjectBrief
from scanprep.case.record.fold import fold
from scanprep.case.record.history import history
from scanprep.case.record.inputs import case_inputs, take_inputs
from scanprep.case.record.intake import intake
from scanprep.errors import ScanprepError
from scanprep.files.case_file import read_case
from scanprep.files.checklist import read_whole_checklist
from scanprep.files.ledger import entry_hash, payload_text
from scanprep.files.measured_table import HEADS, read_measured
from scanprep.files.meshes import load_scan
from scanprep.files.new_case import case_template
from scanprep.review.desk import open_desk
from scanprep.review.messages import decision_of, drag_of, read
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.survey import survey_object
from scanprep.workspace.folder import open_case
from scanprep.workspace.logbook import export, import_from
from scanprep.workspace.measuring import entries_of
from tests.campaigns.decisions import shared_life
from tests.campaigns.trials import Trial, WrongError
from tests.campaigns.wounds import (
    bytes_wounded,
    either_wounded,
    json_wounded,
    text_wounded,
    value_wounded,
    zip_wounded,
)
from tests.files import scan_files
from tests.shapes import box, cup

RULES = Rulebook()
SURVEYED = 7  # one in so many of the scans that are read goes through cleaning and survey
SAMPLES = Path(__file__).parents[2] / "sample_meshes"


def scans() -> dict[str, bytes]:
    """One small scan of every format and way of packing, by name."""
    solid = box(cuts=2)
    v, f = solid.vertices_mm, solid.faces
    pixels = np.full((8, 8, 3), (200, 90, 30), np.uint8)
    # one corner of the picture for every vertex is enough to read the picture
    textured = b"mtllib a.mtl\nusemtl skin\nvt 0.5 0.5\n" + scan_files.obj(v, f).replace(b" 0 0\n", b" 0 0\n")
    textured = b"\n".join(b"f " + b" ".join(c + b"/1" for c in line.split()[1:]) if line[:2] == b"f " else line
                          for line in textured.split(b"\n"))
    packed = DracoPy.encode(v.astype(np.float32), f.astype(np.uint32))
    tree = {"asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}], "nodes": [{"mesh": 0}],
            "extensionsUsed": ["KHR_draco_mesh_compression"], "extensionsRequired": ["KHR_draco_mesh_compression"],
            "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1, "extensions": {
                "KHR_draco_mesh_compression": {"bufferView": 0, "attributes": {"POSITION": 0}}}}]}],
            "accessors": [{"componentType": 5126, "count": len(v), "type": "VEC3"},
                          {"componentType": 5125, "count": int(f.size), "type": "SCALAR"}],
            "bufferViews": [{"buffer": 0, "byteOffset": 0, "byteLength": len(packed)}],
            "buffers": [{"byteLength": len(packed)}]}
    return {"a.obj": scan_files.obj(v, f), "a.ply": scan_files.ply(v, f), "b.ply": scan_files.ply(v, f, ">"),
            "c.ply": scan_files.ply(v, f, ""), "a.stl": scan_files.stl(v, f), "b.stl": scan_files.stl_text(v, f),
            "a.glb": scan_files.plain_glb(v, f), "d.glb": scan_files.glb(tree, packed), "a.off": scan_files.off(v, f),
            "a.3mf": scan_files.threemf(v, f), "cup.3mf": scan_files.threemf(cup(bands=2, sides=8).vertices_mm,
                                                                             cup(bands=2, sides=8).faces, "millimeter"),
            "a.zip": scan_files.zipped({"s/a.obj": textured, "s/skin.png": scan_files.picture(pixels),
                                        "s/a.mtl": b"newmtl skin\nKd 1 1 1\nmap_Kd skin.png\n"})}


def readers(folder: Path) -> Trial:
    """Every reader of scans, then cleaning and survey."""
    files, seen = scans(), set[str]()

    def trial(dice: random.Random, folder: Path) -> str:
        name = dice.choice(sorted(files))
        data = files[name]
        if name.endswith((".3mf", ".zip")):
            data = zip_wounded(data, dice)
        elif name in ("a.obj", "c.ply", "b.stl", "a.off") and dice.random() < 0.5:
            data = either_wounded(data.decode(), dice)
        else:
            data = bytes_wounded(data, dice)
        path = folder / name
        path.write_bytes(data)
        brief = ObjectBrief("1", "x", scan=name, unit=dice.choice(("mm", "mm", None)),
                            sizes=(KnownSize("height", 60.0),) if dice.random() < 0.3 else ())
        scan = load_scan(path, brief, RULES.scan)
        mesh = hashlib.sha256(scan.vertices_mm.tobytes() + scan.faces.tobytes()).hexdigest()
        if mesh in seen or dice.randrange(SURVEYED):
            return "read"
        seen.add(mesh)
        survey = survey_object(clean(scan, brief, RULES.scan), brief, RULES)
        numbers = (survey.volume_mm3.best, survey.mass_g.best, *survey.centre_of_mass_mm, *survey.size_mm)
        if not all(math.isfinite(number) for number in numbers):
            raise WrongError(f"a survey with a figure that is none: {numbers}")
        return "surveyed"

    return trial


def _workbook(text: str) -> bytes:
    book, out = openpyxl.Workbook(), io.BytesIO()
    for line in text.splitlines():
        book.active.append(line.split(","))
    book.save(out)
    return out.getvalue()


def checklist(folder: Path) -> Trial:
    """Checklists as CSV and XLSX, on into intake."""
    text = (SAMPLES / "checklist.csv").read_text(encoding="utf-8")
    lines = text.splitlines()
    case, _ = read_case(SAMPLES / "case.toml")
    base = [(".csv", "\n".join([lines[0], *lines[k:k + 4]])) for k in range(1, 13, 4)]
    base += [(".csv", base[0][1].replace(",", ";")),
             (".csv", "Our list\n\nTitle,Number,Höhe (cm),Weight\nKrug,1,9,2 kg")]
    books = [(".xlsx", _workbook(body)) for _, body in base[:2]]

    def trial(dice: random.Random, folder: Path) -> str:
        ending, body = dice.choice(books if dice.random() < 0.12 else base)
        path = folder / f"list{ending}"
        path.write_bytes(zip_wounded(body, dice) if isinstance(body, bytes) else either_wounded(body, dice))
        briefs = read_whole_checklist(path, case.columns).briefs
        taken = intake(fold(()), briefs, case.panels)
        for entry in taken.entries:
            payload_text(entry.payload)
        return "taken" if taken.entries else "empty"

    return trial


def case(folder: Path) -> Trial:
    """Case files, on into what the record keeps of them."""
    plain = case_template("Étude", identity="0123456789ab")
    full = "\n".join(line.removeprefix("# ") for line in plain.splitlines()[3:])
    base = (plain, full, (SAMPLES / "case.toml").read_text(encoding="utf-8"),
            full + "\n[people]\nAda = \"conservator\"\n[may]\nangle = [\"designer\"]\n[rules.hold]\nfriction = 0.3\n")

    def trial(dice: random.Random, folder: Path) -> str:
        path = folder / "case.toml"
        path.write_bytes(either_wounded(dice.choice(base), dice))
        brief, rules = read_case(path)
        now = case_inputs(brief, rules)
        payload_text(now)
        take_inputs({}, now, False)
        return "read"

    return trial


def _chained(lines: list[dict[str, object]]) -> Iterator[dict[str, object]]:
    """Lines with numbers and hashes that fit whatever the lines say now."""
    previous = "0" * 64
    for seq, line in enumerate(lines, start=1):
        line = {**line, "seq": seq, "previous_hash": previous}
        try:
            previous = entry_hash(seq, *(line.get(k) for k in ("time", "person", "session", "kind", "object")),
                                  payload_text(line.get("payload")), line.get("reason"), previous)
        except (TypeError, ValueError):
            previous = "0" * 64
        yield {**line, "hash": previous}


def imports(folder: Path) -> Trial:
    """Exported records, into a case that has to open afterwards, or has nothing of it."""
    life = shared_life()
    export(life.root / "case", folder / "rich.jsonl")
    lines = [json.loads(line) for line in (folder / "rich.jsonl").read_text(encoding="utf-8").splitlines()]
    toml = (life.root / "case" / "case.toml").read_bytes()

    def trial(dice: random.Random, folder: Path) -> str:
        if dice.random() < 0.7:  # the content is odd, the chain is right: a program's work, not an accident
            at = dice.randrange(len(lines))
            odd = value_wounded(lines[at], dice)
            odd = odd if isinstance(odd, dict) else {"payload": odd}
            many = [*lines[:at], odd, *lines[at + 1:]]
            if dice.random() < 0.2:
                many.insert(dice.randrange(len(many)), dice.choice(lines))
            text = "\n".join(json.dumps(line) for line in _chained(many))
        else:
            text = "\n".join(json.dumps(line, ensure_ascii=False) for line in lines)
            text = text_wounded(text, dice) if dice.random() < 0.5 else bytes_wounded(text.encode(), dice).decode(
                errors="surrogateescape")
        root = folder / "into"
        shutil.rmtree(root, ignore_errors=True)
        root.mkdir()
        (root / "case.toml").write_bytes(toml)
        (root / "odd.jsonl").write_bytes(text.encode(errors="surrogatepass"))
        fresh = open_case(root, take=False)
        try:
            import_from(fresh, root / "odd.jsonl")
        except ScanprepError:
            if open_case(root, take=False).entries:
                raise WrongError("an import that was refused left entries") from None
            raise
        try:
            after = open_case(root, reason="the file is right")  # a case that is signed off asks why its file differs
        except ScanprepError as problem:
            raise WrongError(f"an import was taken, and the case does not open: {problem}") from problem
        for number in (None, *after.state.objects):
            history(after.entries, number, "mm")
        return "taken"

    return trial


def measured(folder: Path) -> Trial:
    """Tables of measurements, on into entries."""
    known = open_case(shared_life().copy("start", folder / "case"))
    rows = [",".join(HEADS), "rod,3/16,at five places,4.75 mm,4.76 mm,,,,new lot", "test hole,#11,,4.85 mm,,,,,",
            "sheet,West,,29.8 mm,30.1 mm,,,,", "mass,FB-001,scale,251 g,,,,,", "pad,FB-002,,felt 1 mm,,,,,",
            "coupon,#11,,4.87 mm,0.16 mm,55 N,125 N mm,48 N,lot 2", "mount,FB-001,,0.4 mm,-0.2 mm,1 deg,,,"]
    texts = ("\n".join(rows[:-1]), "\n".join(rows[:-1]), "\n".join(rows))  # the last is refused: no rod is settled
    book = _workbook(texts[0])

    def trial(dice: random.Random, folder: Path) -> str:
        path = folder / ("m.xlsx" if dice.random() < 0.1 else "m.csv")
        packed = path.suffix == ".xlsx"
        path.write_bytes(zip_wounded(book, dice) if packed else either_wounded(dice.choice(texts), dice))
        entries = entries_of(known, read_measured(path), path, "Ada", "")
        for entry in entries:
            payload_text(entry.payload)
        return "taken" if entries else "empty"

    return trial


def _message(what: str, number: str, **more: object) -> dict[str, object]:
    return {"what": what, "by": {"person": "Ada", "role": "curator"}, "base": {number: 99}, "object": number, **more}


MESSAGES = (
    _message("place", "FB-001", moves=[{"object": "FB-001", "panel": "West", "face": "A", "x_mm": 150.0,
                                        "y_mm": 1000.0}]),
    _message("agree", "FB-001", topic="angle", words="as seen"),
    _message("refuse", "FB-002", topic="place", words="lower"),
    _message("ask", "FB-002", topic="contact", words="felt?"), _message("hold", "FB-001", index=1, words="turned"),
    _message("note", "FB-001", words="a chip"), _message("lock", "FB-001", yes=True),
    _message("undo", "FB-001", entries=[7], words="wrong"), _message("session", "", people=["Ada", "Ben"], yes=True),
    _message("sign-off", "", words="done", yes=True),
    {"ticket": 3, "moves": [{"object": "FB-002", "panel": "East", "face": "B", "x_mm": 90.5, "y_mm": 700}]},
)


def page(folder: Path) -> Trial:
    """Messages of the review page, on into the record of a small case."""
    life = shared_life()
    desks = [0, None]

    def fresh() -> None:
        desks[1] = open_desk(open_case(life.copy("start", folder / "desk")), 0, lambda *_: None)

    def trial(dice: random.Random, folder: Path) -> str:
        message = dice.choice(MESSAGES)
        if dice.random() < 0.5:
            plain = read(json_wounded(message, dice))
        else:  # of a right form, odd in what it says
            key = dice.choice([name for name in message if name not in ("what", "by", "base", "ticket")])
            plain = read(json.dumps({**message, key: value_wounded(message[key], dice)}))
        if "ticket" in plain:
            drag_of(plain)
            return "read"
        said = decision_of(plain)
        if desks[0] % 100 == 0:
            fresh()
        desks[0] += 1
        desk = desks[1]
        before = open_case(desk.folder.root).state.seq
        try:
            taken = desk.decide(replace(said, base=dict.fromkeys(said.base, desk.folder.state.seq)))
        except ScanprepError:
            if open_case(desk.folder.root).state.seq != before:
                raise WrongError("a decision that was refused left entries") from None
            raise
        if open_case(desk.folder.root).state.seq != taken.seq:
            raise WrongError("what was answered is not what is on record")
        return "decided"

    return trial


CAMPAIGNS = {"readers": readers, "checklist": checklist, "case": case, "import": imports, "measured": measured,
             "page": page}
