"""The record's meaning, continued: inputs, measurements, rods, words against, what happens after installation.

One handler a kind of entry, each with its payload in a comment in the table below. Called by `fold`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from scanprep.case.record.entry import Entry
from scanprep.case.record.frozen import Settled
from scanprep.case.record.inputs import with_changes
from scanprep.case.record.lines import with_words
from scanprep.case.record.mount_life import (
    Agreement,
    MountLife,
    PostProof,
    Question,
    Whereabouts,
    another_mount,
    answered,
    without_word,
)
from scanprep.case.record.state import DiameterChoice, Measured, Placement, RodChoice

if TYPE_CHECKING:
    from scanprep.case.record.fold import Folding

#: A measurement gives way where the case file changes what it measured: what -> start of the inputs' key.
_GIVES_WAY = {"rod": "measured_rods.{}.", "test hole": "coupons.{}.", "sheet": "panels.{}.thickness"}


def _inputs(folding: Folding, entry: Entry) -> None:
    changes = entry.payload["changes"]
    first = not folding.inputs
    folding.inputs = with_changes(folding.inputs, changes)
    folding.case_seq = entry.seq
    if first:
        return
    keys = [str(key) for key, _, now in changes if now is not None]
    for what, name in list(folding.measured):
        start = _GIVES_WAY.get(what, "").format(name.partition(" (")[0])
        if start and any(key.startswith(start) for key in keys):
            del folding.measured[(what, name)]


def _measured(folding: Folding, entry: Entry) -> None:
    said = entry.payload
    what, name = str(said["what"]), str(said["name"])
    if what == "test hole" and " (" not in name:  # a new series of coupons of this drill begins
        for key in [k for k in folding.measured if k[0] == what and k[1].startswith(f"{name} (")]:
            del folding.measured[key]
    folding.measured[(what, name)] = Measured(what, name, dict(said["values"]), entry.person, entry.time, entry.seq)
    if entry.object is None:
        folding.case_seq = entry.seq


def _diameters(folding: Folding, entry: Entry) -> None:
    said = entry.payload
    folding.diameters = DiameterChoice(tuple(map(str, said["rods"])), str(said["how"]), entry.person, entry.seq)
    folding.case_seq = entry.seq


def _rod(folding: Folding, entry: Entry) -> None:
    said = entry.payload
    folding.rods[str(entry.object)] = RodChoice(str(said["rod"]), str(said["how"]), entry.person, entry.seq)


def _retained(folding: Folding, entry: Entry) -> None:
    folding.retentions[str(entry.object)] = str(entry.payload["retention"])


def _proof(folding: Folding, entry: Entry) -> None:
    said, life = entry.payload, folding.life(entry)
    proof = PostProof(float(said["pull_N"]), float(said["twist_Nmm"]), str(said["moved"]), entry.person, entry.time,
                      entry.seq)
    _keep(folding, entry, replace(life, proofs=(*life.proofs, proof)))


def _refused(folding: Folding, entry: Entry) -> None:
    what = str(entry.payload["what"])
    word = Agreement(what, entry.person, entry.time, entry.session, entry.seq, True, entry.reason, refused=True)
    life = without_word(answered(folding.life(entry), what), what, entry.person)
    _keep(folding, entry, replace(life, agreements=(*life.agreements, word)))


def _word_withdrawn(folding: Folding, entry: Entry) -> None:
    said = entry.payload
    _keep(folding, entry, without_word(folding.life(entry), str(said["what"]), str(said["of"])))


def _asked(folding: Folding, entry: Entry) -> None:
    said, life = entry.payload, folding.life(entry)
    question = Question(str(said["what"]), str(said["of"]), entry.person, entry.time, entry.seq, entry.reason)
    _keep(folding, entry, replace(answered(life, question.what), questions=(
        *answered(life, question.what).questions, question)))


def _settled(folding: Folding, entry: Entry) -> None:
    said, life = entry.payload, folding.life(entry)
    settled = Settled(str(said["code"]), str(said["real"]), str(said["planned"]), str(said["how"]), entry.person,
                      entry.reason, entry.seq)
    _keep(folding, entry, replace(life, settled=(*life.settled, settled)))


def _remade(folding: Folding, entry: Entry) -> None:
    _keep(folding, entry, another_mount(folding.life(entry)))


def _withdrawn(folding: Folding, entry: Entry) -> None:
    folding.withdraw(entry, entry.reason)


def _shown_again(folding: Folding, entry: Entry) -> None:
    folding.withdrawn.pop(str(entry.object), None)
    folding.off_list.discard(str(entry.object))


def _moved_on(folding: Folding, entry: Entry) -> None:
    said, life = entry.payload, folding.life(entry)
    move = Whereabouts(str(said["to"]), str(said.get("note", "")), entry.person, entry.time, entry.seq)
    _keep(folding, entry, replace(life, moves=(*life.moves, move)))


def _plugged(folding: Folding, entry: Entry) -> None:
    number = str(entry.payload["hole"])
    folding.holes[number] = replace(folding.holes[number], later=f"plugged with {entry.payload['with']}")


def _reused(folding: Folding, entry: Entry) -> None:
    """A drilled hole goes on with another object: it keeps its number, its drill and its depth."""
    number, hole_number = str(entry.object), str(entry.payload["hole"])
    hole, before = folding.holes[hole_number], folding.placements.get(number)
    if before is not None and before.hole is not None:
        folding.make_void(before.hole, f"uses {hole_number} instead")
    folding.holes[hole_number] = replace(hole, object=number, state="drilled", why_void="", later="")
    folding.placements[number] = Placement(hole.panel, hole.face, hole.from_left_mm, hole.y_mm, hole_number,
                                           hole.from_left_mm, hole.y_mm, False, "drilled", "decision", entry.session,
                                           entry.person, entry.seq)


def _line_said(folding: Folding, entry: Entry) -> None:
    number = str(entry.object)
    said = {**folding.said_of.get(number, {}), **entry.payload["line"]}
    with_words(folding.lines[number], said)  # what cannot be read is told of here, with its entry
    folding.said_of[number] = said


def _keep(folding: Folding, entry: Entry, life: MountLife) -> None:
    folding.mounts[str(entry.object)] = life


LATER_HANDLERS: dict[str, Callable[[Folding, Entry], None]] = {
    "inputs": _inputs,  # case.toml and the rules: {changes: [[key, was, now]]}
    "measured": _measured,  # {what, name, values}
    "diameters": _diameters,  # {rods, how}
    "rod": _rod,  # {rod, how}
    "retained": _retained,  # {retention}
    "proof": _proof,  # {pull_N, twist_Nmm, asked_pull_N, asked_twist_Nmm, moved}
    "refused": _refused,  # {what}; the reason holds its words
    "word-withdrawn": _word_withdrawn,  # {what, of: whose word}
    "asked": _asked,  # {what, of}
    "settled": _settled,  # {code, real, planned, how}
    "remade": _remade,  # the mount is made anew
    "withdrawn": _withdrawn,  # not shown any more
    "shown-again": _shown_again,
    "moved-on": _moved_on,  # {to: removed, on loan, returned, replaced; note}
    "plugged": _plugged,  # {hole, with}
    "reused": _reused,  # {hole}
    "line-said": _line_said,  # {line: fields of its checklist line}
}
