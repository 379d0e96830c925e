"""Makes the demo's scans, checklist and true facts: `python -m scanprep_samples.make_samples [NUMBER ... | checklist]`.

Each find is modelled as a closed solid, its volume and centre are taken from that, then the mesh is worn, coloured,
damaged as photogrammetry would, laid into the file's axes and unit, and written. Same script, same files.
"""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scanprep_samples import writing
from scanprep_samples.ageing import Skin, hollowness, noisy
from scanprep_samples.catalogue import FINDS
from scanprep_samples.find import Find
from scanprep_samples.shape import Shape
from scanprep_samples.solids import Solid
from scanprep_samples.surface import I32, moments, skin, vertex_normals
from scanprep_samples.texture import Unwrapped, unwrap

F64 = NDArray[np.float64]
_FINE = 2.4  # faces modelled for each one delivered
_PICTURE_PX = 1024

COLUMNS = ("number", "title", "material", "scan", "unit", "known size", "mass", "wall", "condition", "pieces", "up",
           "front", "attitude", "tilt", "turn", "roll", "group", "order", "panel", "face", "x", "y", "tip limit", "pad",
           "no touch", "note")


def fine_mesh(shape: Shape, solid: Solid, faces: int) -> tuple[F64, I32]:
    """Return a solid's skin with about so many faces."""
    step = float(np.ptp([shape.low, shape.high], axis=0).max()) / 36
    _, triangles = skin(solid, shape.low, shape.high, step)
    step *= float(np.sqrt(len(triangles) / faces))
    return skin(solid, shape.low, shape.high, step)


def thinned(points: F64, faces: I32, count: int) -> tuple[F64, I32]:
    """Return the mesh with fewer, uneven triangles, as scanning software delivers it."""
    import pyfqmr

    simplify = pyfqmr.Simplify()
    simplify.setMesh(points, faces)
    simplify.simplify_mesh(target_count=count, aggressiveness=4, preserve_border=True, verbose=False)
    new_points, new_faces, _ = simplify.getMesh()
    return np.asarray(new_points, dtype=np.float64), np.asarray(new_faces, dtype=np.int32)


def scanned(find: Find, shape: Shape, points: F64, faces: I32) -> Skin:
    """Return what the scanner delivers of a find, in the model frame."""
    few, triangles = thinned(points, faces, find.faces)
    colours = shape.paint(few, vertex_normals(few, triangles), hollowness(few, triangles))
    result = noisy(Skin(few, triangles, colours), find.noise_mm, len(find.stem) + find.faces)
    for _, damage in find.damage:
        result = damage(result)
    return result


def to_file(find: Find, points: F64) -> F64:
    """Return model points in the file's axes and unit."""
    return np.asarray((points @ find.axes.T + np.array(find.offset_mm)) / find.mm_per_unit)


def save(find: Find, shape: Shape, result: Skin, folder: Path) -> Path:
    """Write one scan; returns its path."""
    path = folder / find.file
    path.parent.mkdir(parents=True, exist_ok=True)
    placed = Skin(to_file(find, result.points), result.faces, result.colours)
    if find.form in ("obj-jpg", "obj-png", "glb-jpg"):
        flat = unwrap(result.points, result.faces, result.colours, shape.paint, _PICTURE_PX)
        flat = Unwrapped(to_file(find, flat.points), flat.faces, flat.places, flat.picture, flat.first)
        if find.form == "glb-jpg":
            path.write_bytes(writing.glb(flat))
        else:
            writing.obj_textured(path, flat, find.form[4:])
        return path
    makers = {"obj-colour": writing.obj_coloured, "ply": writing.ply_binary, "ply-ascii": writing.ply_ascii,
              "ply-big": lambda mesh: writing.ply_binary(mesh, big_endian=True), "stl": writing.stl_binary,
              "off": writing.off, "glb": writing.glb, "glb-draco": writing.glb_draco,
              "zip": lambda mesh: writing.zipped(f"{find.stem}.obj", writing.obj_coloured(mesh)),
              "3mf": lambda mesh: writing.three_mf(mesh, {1.0: "millimeter", 25.4: "inch"}[find.mm_per_unit])}
    path.write_bytes(makers[find.form](placed))
    return path


def truth(find: Find, solid: tuple[F64, I32], seen: tuple[F64, I32]) -> dict[str, object]:
    """Return the true facts of a find, in the file's axes scaled to mm."""
    volume, centre = moments(*solid)
    envelope, _ = moments(*seen)
    placed = solid[0] @ find.axes.T + np.array(find.offset_mm)
    model = np.ptp(solid[0], axis=0)
    return {
        "file": find.file, "kind": find.kind, "mm_per_unit": find.mm_per_unit,
        "volume_mm3": round(volume, 3), "scanned_volume_mm3": round(envelope, 3),
        "centre_mm": [round(float(x), 4) for x in find.axes @ centre + np.array(find.offset_mm)],
        "mass_g": round(volume * find.density / 1000, 3), "density_g_cm3": find.density,
        "up": [round(float(x), 6) for x in find.axes[:, 1]], "front": [round(float(x), 6) for x in find.axes[:, 2]],
        "size_mm": {"width": round(float(model[0]), 3), "height": round(float(model[1]), 3),
                    "depth": round(float(model[2]), 3)},
        "extents_mm": [round(float(x), 3) for x in np.ptp(placed, axis=0)],
        "stands": find.stands, "holdable": find.holdable, "pieces": find.pieces,
        "inside_scanned": abs(envelope / volume - 1) < 1e-9, "damage": [name for name, _ in find.damage],
    }


def _inches(value_mm: float) -> str:
    whole, part = divmod(round(value_mm / 25.4 * 32), 32)
    step = int(np.gcd(part, 32))
    fraction = f"{part // step}/{32 // step}" if part else ""
    return f"{whole or ''} {fraction} in".strip().replace("  ", " ")


def known_size(find: Find, facts: dict[str, object]) -> str:
    """Return the checklist's measured dimensions: calipers to 0.1 mm, a rule to 1/32 in."""
    size = facts["size_mm"]
    assert isinstance(size, dict)
    wide = max(size["width"], size["depth"])
    values = {**size, "longest": max(size.values()), "diameter": wide}
    cells = []
    for wanted in find.known:
        kind, unit = wanted.split()
        cells.append(f"{kind} {_inches(values[kind]) if unit == 'in' else f'{values[kind]:.1f} mm'}")
    return "; ".join(cells)


def mass_text(find: Find, mass_g: float) -> str:
    """Return the checklist's weighed mass: a balance to 0.1 g below 200 g, 1 g above; ounces to 0.01."""
    if find.weighed == "oz":
        return f"{mass_g / 28.349523125:.2f} oz"
    return (f"{mass_g:.1f} g" if mass_g < 200 else f"{mass_g:.0f} g") if find.weighed else ""


def _axis_text(direction: object) -> str:
    values = np.array(direction, dtype=float)
    best = int(np.argmax(np.abs(values)))
    if abs(values[best]) > 0.9999:
        return ("-" if values[best] < 0 else "+") + "xyz"[best]
    return " ".join(f"{x:.3f}" for x in values)


def checklist_row(find: Find, facts: dict[str, object]) -> dict[str, str]:
    """Return one line of the checklist, as a museum would keep it."""
    mass = facts["mass_g"]
    assert isinstance(mass, float)
    row = dict.fromkeys(COLUMNS, "")
    row.update({
        "number": find.number, "title": find.title, "material": find.material, "scan": find.file, "unit": find.unit,
        "known size": known_size(find, facts), "mass": mass_text(find, mass), "wall": find.wall,
        "condition": find.condition, "pieces": str(find.pieces) if find.pieces > 1 else "",
        "up": _axis_text(facts["up"]) if find.tell_up else "",
        "front": _axis_text(facts["front"]) if find.tell_front else "", "group": find.group, "order": find.order,
        "note": find.note, **dict(find.extra)})
    row.update(zip(("attitude", "tilt", "turn", "roll"), find.attitude, strict=True))
    row.update(zip(("panel", "face", "x", "y"), find.place, strict=True))
    return row


def make(find: Find, folder: Path) -> dict[str, object]:
    """Write one find's scan under a folder and return its true facts."""
    shape = find.make()
    solid = fine_mesh(shape, shape.solid, int(find.faces * _FINE))
    seen = solid if shape.seen is None else fine_mesh(shape, shape.seen, int(find.faces * _FINE))
    save(find, shape, scanned(find, shape, *seen), folder)
    return truth(find, solid, seen)


def checklist_csv(facts: dict[str, dict[str, object]]) -> str:
    """Return the whole checklist."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(checklist_row(find, facts[find.number]) for find in FINDS if find.number in facts)
    return out.getvalue()


def main(wanted: list[str], folder: Path) -> None:
    """Make all finds, or only those named (or with "checklist" none), and write checklist and truth."""
    numbers = [find.number for find in FINDS]
    if strange := [name for name in wanted if name not in (*numbers, "checklist")]:
        raise SystemExit(f"not in the catalogue: {', '.join(strange)}")
    record = folder / "truth.json"
    facts: dict[str, dict[str, object]] = json.loads(record.read_text(encoding="utf-8")) if record.exists() else {}
    for find in FINDS:
        if wanted and find.number not in wanted:
            continue
        facts[find.number] = make(find, folder)
        size = sum(path.stat().st_size for path in (folder / find.file).parent.iterdir())
        print(f"{find.number}  {find.title}: {size / 1e6:.2f} MB")
    facts = {number: facts[number] for number in numbers if number in facts}
    record.write_text(json.dumps(facts, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    (folder / "checklist.csv").write_text(checklist_csv(facts), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:], Path(__file__).parent)
