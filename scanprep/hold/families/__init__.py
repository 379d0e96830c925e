"""Families of mounts: small parametric generators that place contacts by the object's own geometry.

One module a family, `scene` and `probes` shared by all, `registry` the one place to add one. The gates judge what is
proposed; the free search (`hold.search`) is the last resort.
"""
