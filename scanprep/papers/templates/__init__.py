"""Drill templates of a panel's faces at 1:1: whole, in tiles, overlaid, and the ordinates that are their authority."""
