"""The clear sheet: its two faces, holes in it, and what it carries."""
