"""What people say about an object: they agree, refuse with words, take their word back, or are asked for it.

Who may say what is a matter of roles. A case file that names its people binds them to it; one that names nobody takes
everybody's word, and says so in a finding. A refusal stands until whoever refused agrees or takes it back, or until
what was refused has changed; as long as it stands, it is a stop with its own words.
"""

from __future__ import annotations

from collections.abc import Sequence

from scanprep.brief import CaseBrief
from scanprep.case.record.entry import NewEntry
from scanprep.case.record.mount_life import AGREEMENTS
from scanprep.case.record.state import CaseState
from scanprep.errors import RecordError
from scanprep.findings import Finding, Verdict
from scanprep.numbering import natural_key
from scanprep.rules import RoleRules

#: Whose word each thing is, as `[may]` of the case file names it.
MAY = {
    "contacts": RoleRules().contacts,
    "angle": RoleRules().angle,
    "place": RoleRules().place,
    "fit": RoleRules().fit,
    "drilling": RoleRules().drilling,
    "installed": RoleRules().installed,
    "retouched": RoleRules().retouched,
    "no-touch": RoleRules().no_touch,
    "pad": RoleRules().pad,
    "way-up": RoleRules().way_up,
    "stand-off": RoleRules().stand_off,
    "sign-off": RoleRules().sign_off,
    "withdraw": RoleRules().withdraw,
    "remove": RoleRules().remove,
}


def roles_for(case: CaseBrief, what: str) -> tuple[str, ...]:
    """Return the roles whose word something is."""
    return next((row.roles for row in case.may if row.what == what), MAY.get(what, ()))


def check_role(case: CaseBrief | None, person: str, what: str) -> None:
    """Raise RecordError where a case names its people and this person's roles do not cover what they say.

    case  None, or one that names nobody: everybody may say everything
    """
    if case is None or not case.people:
        return
    needed = roles_for(case, what)
    if not needed:
        return
    mine = next((p.roles for p in case.people if p.name.casefold() == person.strip().casefold()), None)
    those = " or ".join(needed)
    if mine is None:
        raise RecordError(f"{person} is not among the people of case.toml; {what} is for {those} to say. Add the "
                          "name under [people], or let them say it")
    if not set(mine) & set(needed):
        raise RecordError(f"{person} is {', '.join(mine) or 'without a role'}; {what} is for {those} to say. Let them "
                          "say it, or change [may] in case.toml")


def _about(state: CaseState, number: str, what: str) -> None:
    if number not in state.objects:
        near = ", ".join(sorted(state.objects, key=natural_key)[:8]) or "none yet"
        raise RecordError(f"object {number} is not on record (there are: {near}). Take it in with `scanprep intake`")
    if what not in AGREEMENTS:
        raise RecordError(f"{what!r} is nothing to agree to or refuse; say one of {', '.join(AGREEMENTS)}")


def refuse(state: CaseState, number: str, what: str, words: str, person: str = "",
           case: CaseBrief | None = None) -> tuple[NewEntry, ...]:
    """Refuse something about an object. It is a stop with these words until taken back, agreed to or changed."""
    _about(state, number, what)
    check_role(case, person, what)
    if not words.strip():
        raise RecordError(f"refusing the {what} of object {number} needs words: what is wrong, and what would do. Say "
                          "--reason")
    return (NewEntry("refused", number, {"what": what}, words),)


def take_word_back(state: CaseState, number: str, what: str, person: str, reason: str = "") -> tuple[NewEntry, ...]:
    """Take back one's own agreement or refusal. Raises RecordError where this person has no word standing."""
    _about(state, number, what)
    said = [a for a in state.life(number).agreements if a.standing and a.what == what]
    if not any(a.person == person for a in said):
        others = ", ".join(dict.fromkeys(a.person for a in said)) or "nobody"
        raise RecordError(f"{person} has no standing word about the {what} of object {number} (who has: {others}). "
                          "Only one's own word can be taken back")
    return (NewEntry("word-withdrawn", number, {"what": what, "of": person}, reason),)


def ask(state: CaseState, number: str, what: str, of: str, case: CaseBrief | None = None,
        note: str = "") -> tuple[NewEntry, ...]:
    """Ask somebody for their word. The question stays open until anybody whose word it is answers.

    of  a person's name or a role; empty: whoever has the role
    """
    _about(state, number, what)
    whom = of.strip() or " or ".join(roles_for(case, what) if case is not None else MAY.get(what, ()))
    return (NewEntry("asked", number, {"what": what, "of": whom}, note),)


def word_findings(state: CaseState, numbers: Sequence[str]) -> tuple[Finding, ...]:
    """Return refusals as stops with their words, and open questions as looks."""
    found = []
    for number in numbers:
        subject, life = f"object {number}", state.life(number)
        for no in life.refusals:
            found.append(Finding("refused", subject, Verdict.STOP,
                                 f"{subject}: {no.person} refuses its {no.what}: {no.note}",
                                 f"Change it, or let {no.person} agree or take it back"))
        for open_one in life.questions:
            found.append(Finding("asked", subject, Verdict.LOOK,
                                 f"{subject}: {open_one.of} was asked about its {open_one.what} on "
                                 f"{open_one.time[:10]} and has not answered",
                                 "Record the answer with `scanprep agree` or `scanprep refuse`"))
    return tuple(found)


def roles_finding(case: CaseBrief, state: CaseState) -> tuple[Finding, ...]:
    """Return a look where agreements stand and nothing says who may give them."""
    said = any(a.standing for number in state.objects for a in state.life(number).agreements)
    if case.people or not said:
        return ()
    return (Finding("roles-unsaid", "case", Verdict.LOOK, "the case names nobody, so anybody's agreement counts",
                    "Name people and their roles under [people] in case.toml"),)
