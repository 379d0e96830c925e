"""Checks over a whole case: objects against each other, holes, outlines, panels. Each gives findings with a remedy."""
