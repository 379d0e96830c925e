"""Hold angles, tips, arms and hub: how an object is kept where it floats."""
