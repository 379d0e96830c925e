"""Weighing and measuring: size, mass, centre of mass, rests, footprint, symmetry, each with its doubt."""
