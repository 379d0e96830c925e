"""The rod and its seat: droop, stress, fit, drill, lengths."""
