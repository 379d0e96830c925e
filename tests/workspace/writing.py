"""Scans written for tests by the shortest means."""

import numpy as np


def write_ply(path, vertices, faces):
    """Write a binary little-endian PLY of triangles."""
    head = (f"ply\nformat binary_little_endian 1.0\nelement vertex {len(vertices)}\n"
            "property double x\nproperty double y\nproperty double z\n"
            f"element face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n")
    rows = np.empty(len(faces), dtype=[("n", "u1"), ("v", "<i4", 3)])
    rows["n"], rows["v"] = 3, faces
    path.write_bytes(head.encode() + np.asarray(vertices, "<f8").tobytes() + rows.tobytes())
