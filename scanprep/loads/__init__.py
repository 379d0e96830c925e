"""What every part from the object's tips to the panel's top fixing is asked to bear, and what it can.

The load cases of site, hand, season and years; how a part's own frequency raises what the site asks of it; the cells
of one table, a load case by a part. Stages below fill the cells of their own parts.
"""

from scanprep.loads.cases import load_cases
from scanprep.loads.records import Cell, ChainPart, LoadCase, LoadTable

__all__ = ["Cell", "ChainPart", "LoadCase", "LoadTable", "load_cases"]
