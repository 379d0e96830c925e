"""Wires as geometry: their ends at a contact, the way from hub to tip, bends, braces, the hub, meshes of it all.

Knows no stress; what a wire bears is worked out in `strength`.
"""
