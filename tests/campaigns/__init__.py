"""Campaigns against faults: `python -m tests.campaigns NAME --count N --seed S`; figures in docs/reliability.md.

A trial is one broken input, one kill, one full disk or one crowd of writers, made from campaign, seed and index alone,
so that each can be done again by itself (`--only INDEX`). A failure is a traceback, a hang, a crash of the process, a
lost or half-written thing, or a wrong answer with no word. What the readers refuse in a sentence is no failure.
"""
