"""How an object's post is to be held in its hole, and the proof pull and twist once it is in.

Each function takes the case as it stands and returns the entries to append, or refuses with a sentence that says what
to do instead. N, N mm. Used by the record commands.
"""

from __future__ import annotations

from scanprep.case.record.entry import NewEntry
from scanprep.case.record.state import CaseState
from scanprep.errors import RecordError
from scanprep.post.holding import Proof
from scanprep.post.retention import parse_retention


def retain(state: CaseState, number: str, words: str, reason: str = "") -> tuple[NewEntry, ...]:
    """Choose what holds an object's post: `line 0.16 mm`, `bow`, `slit + second pin`; nothing where it is chosen so.

    Another choice after the post was dry-fitted, or after sign-off, needs a reason.
    """
    if number not in state.objects:
        raise RecordError(f"object {number} is not on record. Take it in with `scanprep intake`")
    try:
        held = parse_retention(words).words
    except ValueError as problem:
        raise RecordError(f"object {number}: {problem}") from problem
    if state.retention(number) == held:
        return ()
    if state.signed_off is not None and not reason.strip():
        raise RecordError(f"the case was signed off by {state.signed_off.person}: another way of holding object "
                          f"{number}'s post needs a reason. Say --reason")
    if state.life(number).come_to("dry-fitted") and not reason.strip():
        raise RecordError(f"object {number}'s post is in its hole as it is: holding it by {held} needs a reason. Say "
                          "--reason")
    return (NewEntry("retained", number, {"retention": held}, reason),)


def prove(state: CaseState, number: str, pull_N: float, twist_Nmm: float, needed: Proof, moved: str = "",
          reason: str = "") -> tuple[NewEntry, ...]:
    """Put the proof of a post on record: what it was pulled and twisted with, and whether anything moved.

    needed  what its object asks; less than that proves nothing and is refused
    moved   what moved, in words; empty where nothing did
    """
    if not state.life(number).come_to("dry-fitted"):
        raise RecordError(f"object {number}'s post is not on record as in its hole: nothing to prove yet. Say "
                          f"`scanprep made DIR {number} dry-fitted` first")
    short = [f"{what} {has:.1f} {unit} where {asks:.1f} {unit} is asked" for what, has, asks, unit in (
        ("pull", pull_N, needed.pull_N, "N"), ("twist", twist_Nmm, needed.twist_Nmm, "N mm")) if has < asks - 0.05]
    if short and not moved.strip():
        raise RecordError(f"object {number}: {' and '.join(short)} proves nothing. Pull and twist it with as much, or "
                          "say what moved with --moved")
    said = {"pull_N": float(pull_N), "twist_Nmm": float(twist_Nmm), "asked_pull_N": round(needed.pull_N, 2),
            "asked_twist_Nmm": round(needed.twist_Nmm, 2), "moved": moved.strip()}
    return (NewEntry("proof", number, said, reason),)
