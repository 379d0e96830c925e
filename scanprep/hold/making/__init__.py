"""The mount as it is made for a set of tips: arms laid on a hub, opened and taken off again, painted, and what shows.

Joins `wires` and `strength`; called by `find`.
"""
