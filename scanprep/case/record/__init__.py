"""The record of decisions: entries, what they add up to, what may be said, and the history in words.

Append-only; nothing here measures or judges geometry.
"""
