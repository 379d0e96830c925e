"""The main job on every real scan, as a table: time, faces, grade, holds, margin, post, and what went wrong.

Run by hand, outside the timed tests:

    python -m tests.benchmarks.real_scans [OUT]

Each scan goes through `scanprep spec` with one worker, in this process; OUT keeps the papers to be looked at. Ends with
code 1 where a scan ended in anything but a specification or one sentence.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from pathlib import Path

from typer.testing import CliRunner

from tests.scans import SCANS, RealScan, spec_words

HEADS = ("scan", "faces", "grade", "mass g", "holds", "attitude", "tips", "margin g", "at 0.15 g", "post mm", "drill",
         "s", "what went wrong")


def row(real: RealScan, out: Path) -> tuple[object, ...]:
    """Run one scan; return a line of the table."""
    from scanprep_cli.main import app

    began = time.perf_counter()
    done = CliRunner().invoke(app, spec_words(real, out / real.name))
    seconds = f"{time.perf_counter() - began:.1f}"
    blank = ("-",) * 8
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        return (real.name, "-", "FAULT", *blank, seconds, repr(done.exception))
    if done.exit_code == 3:
        return (real.name, "-", "refused", *blank, seconds, done.stderr.strip())
    text = (out / real.name / real.path.stem / "spec.json").read_text(encoding="utf-8")
    spec = json.loads(text)
    scan, mass_g, post = spec["scan"], spec["survey"]["mass_g"], spec["post"]
    hold = None if spec["hold"] is None else spec["holds"][spec["hold"]]
    held = ("-",) * 4 if hold is None else (
        hold["attitude"]["name"], len(hold["tips"]), f"{hold['margin_g']:.2f}", f"{hold['margin_low_friction_g']:.2f}")
    stops = [f["sentence"].split(": ", 1)[-1] for f in spec["findings"] if f["verdict"] == "stop"]
    return (real.name, scan["faces"], scan["grade"], f"{mass_g['low']:.0f}-{mass_g['best']:.0f}-{mass_g['high']:.0f}",
            len(spec["holds"]), *held, "-" if post is None else f"{post['diameter_mm']:.2f}",
            "-" if spec["hole"] is None else spec["hole"]["drill"], seconds, "; ".join(stops))


def main() -> int:
    """Print the table."""
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp(prefix="real-scans-"))
    print("| " + " | ".join(HEADS) + " |\n|" + "---|" * len(HEADS))
    rows = []
    for real in SCANS:
        rows.append(row(real, out))
        print("| " + " | ".join(map(str, rows[-1])) + " |", flush=True)
    print(f"\npapers in {out}")
    return int(any("FAULT" in line for line in rows))


if __name__ == "__main__":
    sys.exit(main())
