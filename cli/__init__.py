"""The `scanprep` commands: read arguments, call one library function, print, choose the exit code."""
