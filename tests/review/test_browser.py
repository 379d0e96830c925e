"""The page in a real browser: what people do at the table, up to decisions that outlive the server."""

import re
import shutil

import pytest

from scanprep.review.desk import open_desk
from scanprep.workspace.folder import open_case
from tests.review.browsing import Visit, needs_browser
from tests.review.cases import keep_study, small_case
from tests.review.live import Command, serving

pytestmark = [pytest.mark.slow, needs_browser]


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return small_case(tmp_path_factory.mktemp("made") / "case").root


@pytest.fixture
def table(made, tmp_path):
    """The address of a server over a fresh copy of the case."""
    shutil.copytree(made, tmp_path / "case")
    with serving(open_desk(open_case(tmp_path / "case"), 0, lambda done, total, sentence: None)) as addresses:
        yield addresses.decides


def test_a_case_is_seen_and_a_hold_chosen(ada):
    page = ada.page
    assert page.locator("h1").inner_text() == "Cups of a river town"
    assert page.locator("#face .thing").count() == 3
    page.get_by_role("button", name="East, face A").click()
    page.wait_for_selector("#face .nothing:has-text('Nothing stands on East, face A')")
    page.get_by_role("button", name=re.compile("West, face A")).click()
    ada.pick("FB-001")
    page.wait_for_selector(".hold")
    assert page.locator(".hold").count() == 3
    page.wait_for_function("[...document.querySelectorAll('.hold img')].slice(0, 3).every(i => i.naturalWidth > 100)")
    assert "first because" in page.locator(".hold .why").first.inner_text()
    ada.shot("hold-cards")
    page.get_by_role("radio", name="Choose this").nth(1).click()
    page.wait_for_selector('.hold.chosen [data-at="hold 1"][aria-checked="true"]')
    assert ada.object("FB-001")["chosen_by"] == "Ada (curator)"
    assert ada.object("FB-001")["hold"] == 1


def test_an_object_is_dragged_into_a_clash_nudged_and_confirmed(ada):
    page, (dx, _) = ada.page, ada.gap_px("FB-001", "FB-002")
    ada.drag("FB-001", dx * 0.55)
    page.wait_for_selector("#draft .finding.stop")
    assert "15 mm" in page.locator("#draft .finding.stop").first.inner_text()
    assert "stop" in ada.thing("FB-001").get_attribute("class")
    ada.shot("clash")
    assert ada.object("FB-001")["from_left_mm"] == 120.0  # nothing is saved before it is confirmed
    page.get_by_role("button", name="Nudge clear").click()
    page.get_by_role("button", name="Accept the nudge").click()
    page.wait_for_selector("#draft .good, #draft .bad")
    page.wait_for_function("!document.querySelector('#draft .finding.stop')")
    page.get_by_role("button", name="Confirm").click()
    page.wait_for_selector("#draft", state="hidden")
    # dragged 77 mm to the right of 120 and pushed back no further than it came: outlines 62 mm apart before, 15 asked
    assert 120 < ada.object("FB-001")["from_left_mm"] < 120 + 77 - 1
    groups = page.evaluate("async () => (await (await fetch('/api/case')).json()).groups")
    assert not [g for g in groups if g["cause"] == "place" and g["verdict"] == "stop"]
    ada.shot("confirmed")


def test_a_conservator_refuses_with_words_and_agrees_later(browser, table):
    ben = Visit(browser, table, "Ben", "conservator")
    page = ben.page
    ben.pick("FB-001")
    page.wait_for_selector('[data-at="words"]')
    page.select_option('[data-at="topic"]', "contacts")
    page.get_by_role("button", name="Refuse").click()
    page.wait_for_selector("#news:has-text('Refuse with words')")
    page.fill('[data-at="words"]', "the rim is flaking: no tip above the shoulder")
    page.get_by_role("button", name="Refuse").click()
    page.wait_for_selector(".said .refused")
    page.wait_for_selector('#face [data-number="FB-001"].stop')  # a refusal is a stop, with its words
    page.get_by_role("tab", name="Findings").click()
    page.wait_for_selector("#panel .finding.stop:has-text('the rim is flaking')")
    ben.shot("refused")
    page.get_by_role("tab", name="Object").click()
    page.get_by_role("button", name="Take back your word on its contacts").click()
    page.wait_for_selector('#face [data-number="FB-001"]:not(.stop)')
    ben.pick("FB-002")
    page.wait_for_selector('[data-at="words"]')
    page.select_option('[data-at="topic"]', "place")
    page.get_by_role("button", name="Agree", exact=True).click()
    page.wait_for_selector(".said .stands")
    assert "Ben (conservator) agreed to its place" in page.locator(".said").inner_text()
    page.wait_for_selector('#face [data-number="FB-002"][aria-label*="place agreed"]')
    ben.close()


def test_what_was_confirmed_is_still_there_after_the_server_was_killed(browser, made, tmp_path):
    shutil.copytree(made, tmp_path / "case")
    command = Command(tmp_path / "case")
    visit = Visit(browser, command.address)
    page = visit.page
    visit.drag("FB-004", 40, 25)
    page.get_by_role("button", name="Confirm").click()
    page.wait_for_selector("#draft", state="hidden")
    before = visit.object("FB-004")
    command.kill()
    page.wait_for_selector(".link.lost")
    visit.drag("FB-001", 0, 30)  # the page goes on; what is not saved says so and stays
    page.get_by_role("button", name="Confirm").click()
    page.wait_for_function("document.getElementById('news').textContent.includes('not saved')")
    assert page.locator("#draft").is_visible()
    visit.shot("connection-lost")
    again = Command(tmp_path / "case", command.port)
    try:
        page.wait_for_selector(".link.live")  # the case is opened anew
        assert visit.object("FB-004") == before
        page.get_by_role("button", name="Confirm").click()
        page.wait_for_selector("#draft", state="hidden")
        assert visit.object("FB-001")["y_mm"] < 1299
    finally:
        visit.faults[:] = [fault for fault in visit.faults if "ERR_CONNECTION_REFUSED" not in fault
                           and "WebSocket" not in fault and "Failed to fetch" not in fault
                           and "Failed to load resource" not in fault]
        visit.close()
        again.kill()


def test_two_pages_stay_in_step_and_an_older_state_is_refused_with_what_changed(browser, table, ada):
    ben = Visit(browser, table, "Ben", "designer")
    ben.drag("FB-002", 0, -20)
    ben.page.wait_for_selector("#draft .good, #draft .bad")
    ada.drag("FB-002", 0, 30)
    ada.page.get_by_role("button", name="Confirm").click()
    ada.page.wait_for_selector("#draft", state="hidden")
    y_mm = ada.object("FB-002")["y_mm"]
    # Ben's page knows by now, and his own unsaved move stands on the newer state
    ben.page.wait_for_function("(y) => document.getElementById('news').textContent.includes('Ada (curator)')", arg=y_mm)
    stale = ben.page.evaluate("""async () => { const answer = await fetch('/api/decide', {method: 'POST',
        headers: {'content-type': 'application/json'}, body: JSON.stringify({what: 'lock', object: 'FB-002',
        by: {person: 'Ben', role: 'designer'}, base: {'FB-002': 4}})});
        return [answer.status, await answer.json()]; }""")
    assert stale[0] == 409 and "Ada (curator) moved" in stale[1]["sentence"]
    ben.faults.clear()  # the browser notes the 409
    ben.page.get_by_role("button", name="Confirm").click()
    ben.page.wait_for_selector("#draft", state="hidden")
    ada.page.wait_for_function("document.getElementById('news').textContent.includes('Ben (designer)')")
    assert ada.object("FB-002")["y_mm"] == ben.object("FB-002")["y_mm"] > y_mm
    ben.close()


def test_everything_can_be_done_from_the_keyboard(ada):
    page = ada.page
    page.evaluate("document.activeElement.blur()")
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.dataset?.number") == "FB-001":
            break
    assert page.evaluate("document.activeElement.dataset.number") == "FB-001"
    page.keyboard.press("ArrowUp")
    for _ in range(2):
        page.keyboard.press("Shift+ArrowUp")
    assert page.evaluate("document.activeElement.dataset.number") == "FB-001"  # the keyboard stays where it was
    page.wait_for_selector("#draft .good, #draft .bad, #draft .row")
    page.keyboard.press("Enter")
    page.wait_for_selector("#draft", state="hidden")
    assert ada.object("FB-001")["y_mm"] == 1321.0
    page.wait_for_selector('[data-at="hold 1"]')
    page.keyboard.press("2")
    page.wait_for_function("document.querySelector('[data-at=\"hold 1\"]').ariaChecked === 'true'")
    assert ada.object("FB-001")["hold"] == 1
    page.keyboard.press("Control+z")
    page.wait_for_function("document.querySelector('[data-at=\"hold 1\"]')?.ariaChecked === 'false'")
    assert ada.object("FB-001")["chosen_by"] == "proposed"


def test_numbers_with_either_unit_and_layouts_for_what_has_no_place(ada):
    page = ada.page
    ada.pick("FB-001")
    page.fill('[data-at="y of object"]', "52 in")
    page.press('[data-at="y of object"]', "Enter")
    page.wait_for_selector("#draft .row")
    page.get_by_role("button", name="Confirm").click()
    page.wait_for_selector("#draft", state="hidden")
    assert ada.object("FB-001")["y_mm"] == pytest.approx(52 * 25.4, abs=1e-3)
    # face B: X runs from its right edge, 600 mm from its left one
    page.get_by_role("button", name=re.compile("West, face B")).click()
    ada.pick("FB-003")
    assert page.input_value('[data-at="x of object"]') == "200.0 mm" and ada.object("FB-003")["from_left_mm"] == 400.0
    page.fill('[data-at="x of object"]', "210 mm")
    page.press('[data-at="x of object"]', "Enter")
    page.wait_for_selector("#draft .row")
    page.get_by_role("button", name="Confirm").click()
    page.wait_for_selector("#draft", state="hidden")
    assert ada.object("FB-003")["from_left_mm"] == pytest.approx(390.0)
    page.get_by_role("button", name=re.compile("West, face A")).click()
    ada.pick("FB-001")
    page.get_by_role("button", name="Lengths in mm: change").click()
    page.wait_for_function("document.querySelector('[data-at=\"y of object\"]').value === '52 in'")
    page.get_by_role("tab", name="Layouts").click()
    page.get_by_role("button", name="Propose layouts").click()
    page.wait_for_selector("#panel figure image")  # the object as it would stand, with its own picture
    assert all(re.match("better than|less than|as good as|the only", why)
               for why in page.locator("#panel .why").all_inner_texts())
    page.get_by_role("button", name="Look at it").first.click()
    page.wait_for_selector("#draft .row")
    ada.thing("FB-005").wait_for()  # the face on which it would stand is turned to
    ada.shot("layouts")
    page.get_by_role("button", name="Confirm").click()
    page.wait_for_selector("#draft", state="hidden")
    assert ada.object("FB-005")["panel"] in ("West", "East")


def test_a_session_is_numbered_and_told(ada):
    page = ada.page
    page.get_by_role("tab", name="Session").click()
    page.fill('[data-at="session title"]', "first look")
    page.fill('[data-at="session people"]', "Ada, Ben")
    page.get_by_role("button", name="Open session 1").click()
    page.wait_for_selector(".session:has-text('session 1: first look · Ada, Ben')")
    ada.drag("FB-001", 0, 30)
    page.get_by_role("button", name="Confirm").click()
    page.wait_for_selector("#panel .book li:has-text('FB-001')")
    assert ada.object("FB-001")["session"] == 1
    page.get_by_role("button", name="Before session 1").click()
    page.wait_for_selector("#panel .moved li:has-text('mm down')")
    assert page.locator("#face .before").count() == 1


def test_what_is_written_and_not_yet_sent_outlives_other_peoples_decisions(browser, table, ada):
    page, ben = ada.page, Visit(browser, table, "Ben", "designer")

    def drawn_anew_while(field, dy_px):
        """Ben's decision, until Ada's page has put another element into the field's place."""
        page.eval_on_selector(field, "(field) => { field.dataset.before = ''; }")
        ben.drag("FB-002", 0, dy_px)
        ben.page.get_by_role("button", name="Confirm").click()
        page.wait_for_selector(f"{field}:not([data-before])")

    page.get_by_role("tab", name="Session").click()
    page.fill('[data-at="session title"]', "first look")
    page.fill('[data-at="session people"]', "Ada, Ben")
    drawn_anew_while('[data-at="session people"]', 20)
    assert page.input_value('[data-at="session title"]') == "first look"
    assert page.input_value('[data-at="session people"]') == "Ada, Ben"
    # written in the midst of a text, in a field of several lines
    ada.pick("FB-001")
    page.get_by_role("tab", name="Object").click()
    page.fill('[data-at="words"]', "the  is cracked")
    page.eval_on_selector('[data-at="words"]', "(field) => field.setSelectionRange(4, 4)")
    drawn_anew_while('[data-at="words"]', -10)
    page.keyboard.type("rim")
    assert page.input_value('[data-at="words"]') == "the rim is cracked"
    # another object's card has words of its own
    ada.pick("FB-002")
    page.wait_for_selector("#panel[data-of='object FB-002'] [data-at='words']")
    assert page.input_value('[data-at="words"]') == ""
    ada.pick("FB-001")
    page.wait_for_selector("#panel[data-of='object FB-001'] [data-at='words']")
    page.get_by_role("button", name="Refuse").click()
    page.wait_for_selector(".said:has-text('the rim is cracked')")
    page.wait_for_function("""document.querySelector('[data-at="words"]').value === ''""")
    # a field that reports when it is left does so though it was drawn anew under the hands
    page.fill("#person", "Ada Fell")
    page.focus("#person")
    drawn_anew_while("#person", 10)
    page.press("#person", "Tab")
    page.wait_for_function("JSON.parse(localStorage.getItem('scanprep.me')).person === 'Ada Fell'")
    ben.close()


def test_the_case_is_drawn_in_space_and_the_page_does_without(browser, table, ada):
    ada.page.get_by_role("button", name="3D", exact=True).click()
    ada.page.wait_for_function("document.querySelector('#space canvas')?.dataset.drawn >= 4")
    ada.page.get_by_role("button", name="Front B").click()
    ada.shot("in-space")
    plain = Visit(browser, table)
    plain.page.evaluate("HTMLCanvasElement.prototype.getContext = () => null")
    plain.page.get_by_role("button", name="3D", exact=True).click()
    plain.page.wait_for_selector("#space:has-text('no WebGL')")
    plain.faults[:] = [fault for fault in plain.faults if "WebGL" not in fault]
    plain.drag("FB-001", 0, 30)
    plain.page.wait_for_selector("#draft .good, #draft .bad")
    plain.close()


def test_the_page_lives_under_its_own_strict_policy(browser, table):
    visit = Visit(browser, table, strict=True)
    visit.page.get_by_role("button", name="3D", exact=True).click()
    visit.page.wait_for_selector('#space canvas[data-drawn="4"]')
    visit.drag("FB-001", 0, 30)
    visit.page.wait_for_selector("#draft .good, #draft .bad")
    visit.close()  # which asserts that nothing was forbidden and nothing asked of another server


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_an_automatic_accessibility_check_finds_nothing_serious(browser, table, scheme):
    """axe-core's rules (WCAG 2.x A and AA among them): no violation that it calls serious or critical, on any tab."""
    from axe_playwright_python.sync_playwright import Axe

    visit = Visit(browser, table, color_scheme=scheme)
    page = visit.page
    visit.drag("FB-001", 40)
    page.wait_for_selector("#draft .good, #draft .bad")
    for tab in ("Object", "Findings", "Layouts", "Session", "To do"):
        page.get_by_role("tab", name=tab).click()
        page.wait_for_selector(f'[role="tab"][aria-selected="true"]:has-text("{tab}")')
        found = Axe().run(page).response["violations"]
        serious = [(v["id"], v["nodes"][0]["html"][:200]) for v in found if v["impact"] in ("serious", "critical")]
        assert serious == [], tab
    visit.close()


def test_marks_are_painted_angles_turned_and_a_try_compared(browser, made, tmp_path):
    """One walk: a conservator paints by mouse and keyboard, turns the object by hand, keeps a try and compares."""
    shutil.copytree(made, tmp_path / "case")
    folder = open_case(tmp_path / "case")
    keep_study(folder, "FB-001", 0, turn_deg=70.0)  # what a search at that angle would keep
    with serving(open_desk(folder, 0, lambda done, total, sentence: None)) as addresses:
        ben = Visit(browser, addresses.decides, "Ben", "conservator")
        page = ben.page
        ben.pick("FB-001")
        page.wait_for_selector('[data-at="ask angles"]')
        page.fill('[data-at="angle turn"]', "70")
        page.press('[data-at="angle turn"]', "Enter")
        page.locator('[data-at="ask angles"]').click()
        page.locator('[data-at="hold 3"]').click()  # the fourth hold, offered when it is found
        page.wait_for_selector('[data-at="hold 3"][aria-checked="true"], [data-at="hold 0"][aria-checked="true"]')
        assert ben.object("FB-001")["attitude"] == "asked, turn +70°"
        page.locator('[data-at="paint"]').click()
        page.wait_for_selector("#space canvas[data-skin]")
        page.locator("#space canvas").focus()
        page.keyboard.press("Space")  # a dab at the middle of the picture
        box = page.locator("#space canvas").bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y - 12)
        page.mouse.down()
        page.mouse.move(x, y + 12, steps=4)
        page.mouse.up()
        page.fill('[data-at="why not"]', "old repair")
        ben.shot("painted")
        page.locator('[data-at="keep marks"]').click()
        page.wait_for_selector('[data-at="unmark old repair"]')
        page.wait_for_selector(".waits")  # its holds are looked for again, or why that cannot be
        assert page.evaluate("async () => (await (await fetch('/api/card?object=FB-001')).json()).no_touch.length") > 1
        page.get_by_role("button", name="Close the view in space").click()
        page.locator("#space canvas").wait_for(state="hidden")
        ben.drag("FB-002", 0, 25)
        page.wait_for_selector("#draft .good, #draft .bad")
        page.get_by_role("tab", name="Session").click()
        page.fill('[data-at="try name"]', "lower")
        page.locator('[data-at="keep try"]').click()
        page.locator('[data-at="compare try lower"]').click()
        page.wait_for_selector("#panel .moved li:has-text('object FB-002')")
        assert page.locator("#panel figure").count() == 2  # that face, in the try and on record
        ben.shot("compared")
        assert [entry.kind for entry in open_case(tmp_path / "case").entries][-2:] == ["hold-chosen", "line-said"]
        ben.close()
