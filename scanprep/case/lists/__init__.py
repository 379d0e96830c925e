"""What the whole case adds up to: the few diameters, rods to saw, the order of installation, rows of the schedule."""
