"""Whether a file lies on a disk of another machine, where a record must not rely on shared memory.

Linux says it in /proc/mounts (fstab(5): device, folder, type, options), Windows by the path; elsewhere nobody is asked
and the answer is no. Used by the record.
"""

from __future__ import annotations

import os
from pathlib import Path, PurePosixPath

_MOUNTS = Path("/proc/mounts")
#: format: types of file systems that reach another machine
_NETWORK = frozenset({"nfs", "nfs3", "nfs4", "cifs", "smb3", "smbfs", "afs", "ceph", "glusterfs", "lustre", "9p",
                      "ncpfs", "fuse.sshfs", "fuse.glusterfs", "fuse.rclone", "davfs", "fuse.davfs2"})


def on_network_disk(path: Path) -> bool:
    """Return whether a file lies on a network disk, as far as the system says so."""
    full = os.path.realpath(path)
    if full.startswith("\\\\"):
        return True
    try:
        text = _MOUNTS.read_text(encoding="utf-8", errors="surrogateescape")
    except OSError:
        return False
    return disk_type(PurePosixPath(full), text) in _NETWORK


def disk_type(full: PurePosixPath, mounts: str) -> str:
    r"""Return the type of the file system that a path lies on, by the lines of /proc/mounts; empty where none holds it.

    >>> disk_type(PurePosixPath("/srv/case one/x"), "/dev/a / ext4 rw 0 0\nhost:/c /srv/case\\040one nfs4 rw 0 0\n")
    'nfs4'
    """
    best, kind = -1, ""
    for line in mounts.splitlines():
        fields = line.split()
        if len(fields) < 3:
            continue
        folder = PurePosixPath(_spelled(fields[1]))
        if full.is_relative_to(folder) and len(folder.parts) >= best:  # the later of two on one folder hides the other
            best, kind = len(folder.parts), fields[2]
    return kind


def _spelled(text: str) -> str:
    """A folder's name with what the table writes in octal put back."""
    for code in ("\\040", "\\011", "\\012", "\\134"):
        text = text.replace(code, chr(int(code[1:], 8)))
    return text
