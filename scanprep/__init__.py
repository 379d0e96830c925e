"""From scans of small museum objects to mount specifications and to a whole drilled case.

The story, one stage a room: a scan file is read, brought to true size and cleaned (`scan`), measured (`survey`),
given attitudes and holds (`hold`), a post and a hole (`post`), a place on a panel's face (`panel`), and rolled up
into one mount specification (`spec`). All objects of a display make a case (`case`), printed at 1:1 (`papers`).
`pipeline` tells that story (study, diameters, fabricate, finish), `files` reads and writes, `workspace` knows the case
folder.

Inside: millimetres, grams, newtons, MPa, degrees in names. Nothing heavy is imported here.
"""

__version__ = "0.1.0"

#: format: Part of every cache key: raise it when a stage's results change for the same input.
CODE_VERSION = 19
