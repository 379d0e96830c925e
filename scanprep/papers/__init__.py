"""What the bench prints at 1:1."""
