"""Runs many commands in one process under whatever locale it was started in; a traceback ends it with exit code 99.

`python -m tests.campaigns.locale_commands CASE`: a case folder whose titles hold accents, Cyrillic and Chinese.
"""

from __future__ import annotations

import sys
import traceback

from scanprep_cli import console
from scanprep_cli.main import app

from scanprep.errors import ScanprepError

ONE = "FB-001"
COMMANDS = (
    ("history",), ("history", ONE), ("history", "--json"), ("record", "verify"),
    ("record", "export", "@/copy.jsonl"), ("check",), ("check", "--json"), ("order",), ("faces",), ("release",),
    ("rods",), ("holds", ONE), ("session", "open", "--title", "Étude — обход"), ("condition", ONE, "ébréché, 釉"),
    ("agree", ONE, "angle"), ("refuse", ONE, "place", "--reason", "trop haut — très"),
    ("ask", ONE, "place", "--of", "Zoë"), ("lock", ONE), ("undo", ONE, "--reason", "erreur é"), ("session", "close"),
    ("inputs",), ("undo", ONE), ("coupon",), ("arrange",), ("nudge",), ("measured", "--blank", "@/measured.csv"),
    ("intake", "@/list.csv"), ("place", ONE, "--panel", "Süd", "--face", "A", "--x", "200mm", "--y", "700mm"),
    ("papers", "drills", "labels"), ("batch", "--workers", "0"), ("signoff", "--reason", "fini — é"), ("rules",),
)


def main(root: str) -> int:
    """Run every command on the case; return the exit code."""
    console.show_everything()
    seen = []
    for command, *words in COMMANDS:
        line = [command, root, *(word.replace("@", root) for word in words)]
        try:
            app(line, standalone_mode=True)
        except SystemExit as ended:
            seen.append(f"{command} {ended.code}")
        except ScanprepError as problem:
            print(f"error: {problem}", file=sys.stderr)
            seen.append(f"{command} refused")
        except BaseException:  # noqa: BLE001 - this is what is looked for
            traceback.print_exc()
            print(f"traceback of {' '.join(line)!r}", file=sys.stderr)
            return 99
    print("ran:", ", ".join(seen))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
