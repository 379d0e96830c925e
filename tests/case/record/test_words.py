"""People agree, refuse, take their word back and are asked; who may say what is the case file's to say."""

import pytest

from scanprep.brief import CaseBrief, MayBrief, PersonBrief
from scanprep.case.record import decide, words
from scanprep.case.record.history import history
from scanprep.case.record.mount_status import life_findings
from scanprep.errors import RecordError
from scanprep.findings import Verdict
from scanprep.rules import CaseRules, FitRules
from tests.case.record.test_record import Book, book, made  # noqa: F401 - the fixture

PEOPLE = CaseBrief("trial", people=(PersonBrief("Ada", ("conservator",)), PersonBrief("Ben", ("mountmaker",)),
                                    PersonBrief("Cy", ())))


def stops(book):  # noqa: F811
    return [f.sentence for f in life_findings(book.state, CaseRules(), FitRules()) if f.verdict is Verdict.STOP]


def test_a_refusal_is_a_stop_with_its_words_and_ends_an_agreement(book: Book):  # noqa: F811
    made(book)
    book.say(decide.agree(book.state, "1", "contacts"), "conservator")
    book.say(words.refuse(book.state, "1", "contacts", "the glaze is loose at the rim"), "curator")
    assert book.state.life("1").agreed("contacts") is None
    assert stops(book) == ["object 1: curator refuses its contacts: the glaze is loose at the rim"]
    assert history(book.entries, "1")[-1].spoken().endswith(
        "curator refused its contacts: the glaze is loose at the rim")


def test_who_refused_may_agree_or_take_it_back_and_nobody_else_takes_it_back(book: Book):  # noqa: F811
    made(book)
    book.say(words.refuse(book.state, "1", "contacts", "felt, not suede"), "conservator")
    with pytest.raises(RecordError, match=r"mountmaker has no standing word.*who has: conservator"):
        words.take_word_back(book.state, "1", "contacts", "mountmaker")
    book.say(decide.agree(book.state, "1", "contacts"), "mountmaker")
    assert book.state.life("1").agreed("contacts") is None  # somebody else's agreement does not lift it
    book.say(decide.agree(book.state, "1", "contacts"), "conservator")
    assert book.state.life("1").agreed("contacts").person == "conservator" and stops(book) == []
    book.say(words.take_word_back(book.state, "1", "contacts", "conservator"), "conservator")
    assert book.state.life("1").agreed("contacts").person == "mountmaker"


def test_a_refusal_lapses_with_what_was_refused(book: Book):  # noqa: F811
    made(book)
    book.say(words.refuse(book.state, "1", "angle", "too steep"), "curator")
    book.say(decide.choose_hold(book.state, "1", "leaned-back", (10, 0, 0), 1, "less steep"))
    assert stops(book) == []


def test_a_refusal_without_words_is_none(book: Book):  # noqa: F811
    with pytest.raises(RecordError, match="needs words"):
        words.refuse(book.state, "1", "contacts", " ")
    with pytest.raises(RecordError, match="nothing to agree to or refuse"):
        words.refuse(book.state, "1", "colour", "ugly")


def test_only_those_whose_word_it_is_may_say_it(book: Book):  # noqa: F811
    made(book)
    assert decide.agree(book.state, "1", "contacts", person="Ada", case=PEOPLE)
    for person, words_ in (("Ben", "Ben is mountmaker; contacts is for conservator to say"),
                           ("Cy", "Cy is without a role"), ("Zed", "not among the people of case.toml")):
        with pytest.raises(RecordError, match=words_):
            decide.agree(book.state, "1", "contacts", person=person, case=PEOPLE)
        with pytest.raises(RecordError, match=words_):
            words.refuse(book.state, "1", "contacts", "no", person, PEOPLE)
    settable = CaseBrief("trial", people=PEOPLE.people, may=(MayBrief("contacts", ("mountmaker",)),))
    assert decide.agree(book.state, "1", "contacts", person="ben", case=settable)
    assert decide.agree(book.state, "1", "contacts", person="anybody", case=CaseBrief("names nobody"))


def test_a_question_stays_open_until_answered(book: Book):  # noqa: F811
    made(book)
    book.say(words.ask(book.state, "1", "contacts", "", note="rim or foot?"))
    (look,) = [f for f in life_findings(book.state, CaseRules(), FitRules()) if f.code == "asked"]
    assert look.verdict is Verdict.LOOK and look.sentence.startswith("object 1: conservator was asked about its cont")
    book.say(words.refuse(book.state, "1", "contacts", "foot only"), "conservator")
    assert not [f for f in life_findings(book.state, CaseRules(), FitRules()) if f.code == "asked"]


def test_a_case_that_names_nobody_says_so(book: Book):  # noqa: F811
    assert words.roles_finding(CaseBrief("x"), book.state) == ()
    made(book)
    book.say(decide.agree(book.state, "1", "contacts"))
    (look,) = words.roles_finding(CaseBrief("x"), book.state)
    assert look.verdict is Verdict.LOOK
    assert words.roles_finding(PEOPLE, book.state) == ()
