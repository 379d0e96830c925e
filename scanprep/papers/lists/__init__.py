"""Lists to work from: drilling, rods, coupons, installing, labels, schedule, elevations."""
