"""The free search for tips, the last resort: every place against every motion, grown and swapped row by row.

Offers sets that the gates passed; whether a mount can be bent for them is decided in `making`.
"""
