"""How a mount gives and how hard it works: wires as a frame, stiffness at the tips, sway, what bending errors cost.

Judges wires that `making` lays and the case's load tables.
"""
