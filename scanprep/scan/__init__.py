"""True size and cleaning: from a file's own numbers to a closed mesh in millimetres with a receipt."""
