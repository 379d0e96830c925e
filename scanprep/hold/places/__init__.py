"""Where a mount may touch, and how the object is shown: pads that sit, lips and forks, what is reached from behind.

Attitudes, the object as an obstacle, and the force limit of each place. Knows no wire and no force balance.
"""
