"""Whether a set of contacts keeps the object: wrenches, linear programmes, the gates and their certificates.

Works on contacts alone, before any wire is drawn.
"""
