"""Shaded pictures, true to scale: objects with their mounts, holds next to each other, what the survey found."""
