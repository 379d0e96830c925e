"""The real scans beside the project, what is said of each, and what has been published about it.

Read where they lie, never committed. Materials and walls of the unweighed ones are said for the trial (a plaster model,
a plastic vessel), as a registrar would; they are not published. Sizes and masses are those of the
manifest beside the scans: YCB Object and Model Set (Calli et al. 2015) object list for masses; dimensions from memory
of that paper where the manifest says so.
"""

import os
from dataclasses import dataclass
from pathlib import Path

from scanprep.brief import KnownSize, ObjectBrief

ROOT = Path(os.environ.get("SCANPREP_SCANS", Path(__file__).resolve().parents[2] / "shared" / "scans"))
REASON = "the real scans are not here: set SCANPREP_SCANS or put them at ../shared/scans"


@dataclass(frozen=True)
class RealScan:
    """One real scan and what a person would say of it."""

    name: str
    file: str
    brief: ObjectBrief
    sound: bool  # closed as it came: volume and centre can be compared with a reference library

    @property
    def path(self) -> Path:
        """The scan's file."""
        return ROOT / self.name / self.file


def _scan(name: str, file: str, sound: bool = False, **said: object) -> RealScan:
    return RealScan(name, file, ObjectBrief(number=name, scan=file, **said), sound)


SCANS = (
    _scan("ggg_plasticVase", "plasticVase_decimated.ply", unit="mm", material="plastic", wall_mm=2.0),
    _scan("os_cat", "cat-low-resolution.obj", True, material="plaster", sizes=(KnownSize("height", 90.0),),
          up=(0.0, 1.0, 0.0)),
    _scan("os_demosthenes", "demosthenes-low-res.obj", material="plaster", sizes=(KnownSize("height", 180.0),),
          up=(0.0, 1.0, 0.0)),
    _scan("os_goathead", "goathead.obj", True, material="plaster", sizes=(KnownSize("height", 120.0),),
          up=(0.0, 1.0, 0.0)),
    _scan("os_pizza", "pizza.obj", material="plaster", sizes=(KnownSize("longest", 250.0),)),
    _scan("pr_pitcher", "rubbermaid_ice_guard_pitcher_mesh.stl", unit="m", material="plastic", wall_mm=2.0),
    _scan("tm_fuze", "fuze.obj", True, unit="m", material="plastic", wall_mm=1.5),
    _scan("ycb_a_cups", "textured.obj", True, unit="m", mass_g=13.0),
    _scan("ycb_bowl", "textured.obj", unit="m", mass_g=147.0),
    _scan("ycb_padlock", "textured.obj", True, unit="m", mass_g=208.0),
    _scan("ycb_scissors", "textured.obj", True, unit="m", mass_g=82.0),
    _scan("ycb_tomato_soup_can", "textured.obj", unit="m", mass_g=349.0),
)


def spec_words(real: RealScan, out: Path) -> list[str]:
    """Return the words of `scanprep spec` for a real scan with what is said of it."""
    brief = real.brief
    words = ["spec", str(real.path), "--out", str(out), "--workers", "0", "--json"]
    words += ["--unit", brief.unit] if brief.unit else []
    words += ["--material", brief.material] if brief.material else []
    words += ["--mass", f"{brief.mass_g}g"] if brief.mass_g else []
    words += ["--wall", f"{brief.wall_mm}mm"] if brief.wall_mm else []
    words += [w for size in brief.sizes for w in ("--size", f"{size.kind}={size.value_mm}mm")]
    return words + (["--up", ",".join(map(str, brief.up))] if brief.up else [])
