"""What every paper is drawn with: one display list in mm, letters, tables, and the PDF, SVG and DXF writers.

Knows nothing of mounts or cases.
"""
