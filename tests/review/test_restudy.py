"""What is said of an object takes effect at once where it can, and its holds are looked for again next to the table."""

import shutil
from dataclasses import replace

import pytest

from scanprep.brief import Region
from scanprep.case.record.lines import with_words
from scanprep.errors import RecordError
from scanprep.plain_values import to_plain
from scanprep.review.card import card_of
from scanprep.review.desk import open_desk
from scanprep.review.messages import Angles, Decision, LineSaid, Mark, MessageError, Speaker
from scanprep.workspace.folder import open_case
from tests.review.cases import keep_study, small_case

ADA = Speaker("Ada", "conservator")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return small_case(tmp_path_factory.mktemp("made") / "case", 3).root


def sit_down(root):
    return open_desk(open_case(root), 0, lambda done, total, sentence: None)


@pytest.fixture
def desk(made, tmp_path):
    """A desk over a fresh copy of the case."""
    shutil.copytree(made, tmp_path / "case")
    return sit_down(tmp_path / "case")


def say(desk, number="FB-001", words="", **line):
    return desk.decide(Decision("say", ADA, {number: desk.folder.state.last_of[number]}, object=number, words=words,
                                line=LineSaid(**line)))


def choose(desk, index, number="FB-001"):
    return desk.decide(Decision("hold", ADA, {number: desk.folder.state.last_of[number]}, object=number, index=index))


def done(desk, job):
    """A search as the workbench does it, in this process."""
    task, *said = job.call(desk.folder)
    return desk.take_study(job, task(*said))


def stops(desk, number="FB-001"):
    return [g.sentence for g in desk.scene.groups if g.verdict == "stop" and number in g.objects]


def view(desk, number="FB-001"):
    return next(one for one in desk.scene.objects if one.number == number)


def tip_in_scan(desk, number="FB-001"):
    spec = desk.specs[number]
    tip = spec.hold.tips[0]
    return tuple(float(v) for v in spec.hold.attitude.rotation.T @ tip.point_mm + spec.survey.centre_of_mass_mm)


def test_a_mark_under_a_tip_stops_the_chosen_hold_at_once_and_its_holds_are_looked_for_again(desk):
    choose(desk, 0)
    say(desk, words="the glaze lifts", marks=(Mark(tip_in_scan(desk), 4.0, "lifting glaze"),))
    assert any("touches lifting glaze" in stop for stop in stops(desk))  # before anything was searched
    assert desk.scene.objects_waiting == ("FB-001",)
    assert not view(desk).release.released and "looked for again" in view(desk).release.reasons[0]
    assert "looked for again" in card_of(desk, "FB-001").waits
    (job,) = desk.studies_waiting()
    keep_study(desk.folder, "FB-001", 0)  # what the search would find, kept as it keeps it
    assert "3 holds found" in done(desk, job) or "4 holds found" in done(desk, job)
    assert desk.scene.objects_waiting == () and desk.studies_waiting() == ()
    assert any("touches lifting glaze" in stop for stop in stops(desk))  # the choice is a person's to change
    say(desk, unmark=("lifting glaze",))
    assert not any("lifting glaze" in stop for stop in stops(desk))
    assert desk.folder.state.objects["FB-001"].no_touch == ()


def test_what_was_said_is_there_at_the_next_opening(desk):
    mark = Mark((1.0, 30.0, 2.0), 3.0, "rim")
    said = with_words(desk.folder.state.objects["FB-001"],
                      {"no_touch": to_plain((Region("ball", mark.centre_mm, (3.0, 0.0, 0.0), why="rim"),))})
    keep_study(desk.folder, "FB-001", 0, brief=said)
    say(desk, marks=(mark,))
    again = sit_down(desk.folder.root)
    assert again.folder.state.objects["FB-001"].no_touch == said.no_touch
    assert [region.why for region in card_of(again, "FB-001").no_touch] == ["rim"]
    assert again.studies_waiting() == ()  # its study is the one for what was said


def test_another_stand_off_moves_the_post_at_once(desk):
    usual = desk.specs["FB-001"].plan.post
    say(desk, stand_off_mm=35.0)
    now = desk.specs["FB-001"].plan.post
    assert now.stand_off_mm == pytest.approx(35.0)  # and the post's free length grows by as much as the stand-off
    assert now.free_length_mm - usual.free_length_mm == pytest.approx(35.0 - usual.stand_off_mm)
    card = card_of(desk, "FB-001")
    assert (card.stand_off_mm, card.usual_stand_off_mm) == (35.0, 20.0)
    say(desk, usual_stand_off=True)
    assert desk.specs["FB-001"].plan.post.free_length_mm == pytest.approx(usual.free_length_mm)
    assert desk.scene.objects_waiting == ()  # it is again as it was studied


def test_a_note_and_a_pad_go_on_record(desk):
    say(desk, note="fine detail on the rim")
    assert desk.scene.objects_waiting == ()  # no hold rests on a note
    assert desk.checks.placed["FB-001"].fine_detail
    say(desk, pad="felt")
    assert desk.folder.state.objects["FB-001"].pad == "felt"
    assert desk.scene.objects_waiting == ("FB-001",)


def test_a_search_that_fails_says_why_and_holds_the_hole(desk):
    say(desk, up=(0.0, 0.0, 1.0))
    (job,) = desk.studies_waiting()
    told = done(desk, job)  # the invented case has no scan to read
    assert "FB-001" in told and "scans" in told
    assert desk.studies_waiting() == ()  # it is not tried over and over
    assert "scans" in view(desk).release.reasons[0]


def test_angles_of_ones_own_are_looked_for_offered_chosen_and_kept(desk):
    keep_study(desk.folder, "FB-001", 0, turn_deg=70.0)
    assert desk.ask_angles(Angles("FB-001", 0.0, 70.0, 0.0))
    assert not desk.ask_angles(Angles("FB-001", 0.0, 70.0, 0.0))  # it waits already
    (job,) = desk.studies_waiting()
    assert job.words == "a hold at tilt +0°, turn +70°, roll +0°"
    assert "look at it among its holds" in done(desk, job)
    card = card_of(desk, "FB-001")
    assert [hold.name for hold in card.holds][3:] == ["asked"] and card.holds[3].angles_deg == (0.0, 70.0, 0.0)
    assert desk.held(desk.key_of_shape("FB-001"), 3)[0].attitude.turn_deg == 70.0  # and has its pictures
    choose(desk, 3)
    assert view(desk).attitude == "asked, turn +70°"
    assert len(card_of(desk, "FB-001").holds) == 4  # it is not there twice
    again = sit_down(desk.folder.root)
    assert again.specs["FB-001"].hold.attitude.turn_deg == 70.0
    assert not any("no hold in this attitude" in f.sentence for f in again.specs["FB-001"].findings)


def test_what_was_asked_for_can_be_stopped_and_is_forgotten_when_the_object_changes(desk):
    desk.ask_angles(Angles("FB-001", 10.0, 0.0, 0.0))
    (job,) = desk.studies_waiting()
    assert desk.stop_asking("FB-001") == 1 and desk.studies_waiting() == ()
    assert "stopped" in desk.take_study(job, replace(job.call(desk.folder)[0](*job.call(desk.folder)[1:]), key=""))
    assert card_of(desk, "FB-001").asked == ()
    with pytest.raises(MessageError, match="not at this table"):
        desk.ask_angles(Angles("FB-099", 0.0, 0.0, 0.0))


def test_angles_without_a_hold_say_why(desk):
    desk.ask_angles(Angles("FB-001", 120.0, 0.0, 0.0))
    (job,) = desk.studies_waiting()
    done(desk, job)
    (tried,) = card_of(desk, "FB-001").asked
    assert tried.angles == "tilt +120°, turn +0°, roll +0°" and "scans" in tried.why


def test_only_what_a_line_has_can_be_said(desk):
    before = desk.folder.state.seq
    with pytest.raises(RecordError, match="say why"):
        say(desk, marks=(Mark((0.0, 0.0, 0.0), 3.0, " "),))
    with pytest.raises(MessageError, match="does not say what"):
        desk.decide(Decision("say", ADA, {"FB-001": before}, object="FB-001"))
    assert desk.folder.state.seq == before
