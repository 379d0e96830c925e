"""What the bench prints: true to 1:1, told from datums a bench can find, the same bytes for the same input.

Every paper is laid out once as a display list in millimetres (`sheet`) and written as PDF, SVG or DXF by thin writers.
Nothing here touches files: functions return bytes or sheets, and the case folder decides where they go.
"""
