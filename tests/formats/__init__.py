"""A small kept sample of each format that travels, as the version that made it wrote it; never made anew.

`case-1` is the life told in `tests/campaigns/decisions.py`; the others are invented and tell nothing of a real mount.
"""
