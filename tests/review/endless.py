"""A search that never ends by itself: says that it has done three steps of ten, and waits to be stopped."""

import json
import threading
from pathlib import Path

from scanprep.files.atomic_write import write_atomically

DONE, OF = 3, 10


def endless_search(steps_file):
    """Run in a process of its own, as a search does."""
    write_atomically(Path(steps_file), json.dumps([DONE, OF]))
    threading.Event().wait()
