"""In a real browser: an object's card leads to what it speaks of, near or in space, and keeps what was unfolded."""

import json
import shutil
from urllib.parse import urlsplit

import pytest

from scanprep.review.desk import open_desk
from scanprep.workspace.folder import open_case
from tests.review.browsing import Visit, needs_browser
from tests.review.cases import small_case
from tests.review.live import ask, serving

pytestmark = [pytest.mark.slow, needs_browser]


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return small_case(tmp_path_factory.mktemp("made") / "case", 3).root


@pytest.fixture
def table(made, tmp_path):
    """The address of a server over a fresh copy of the case."""
    shutil.copytree(made, tmp_path / "case")
    with serving(open_desk(open_case(tmp_path / "case"), 1, lambda done, total, sentence: None)) as addresses:
        yield addresses.decides


def decided(address, plain):
    """What another page says; whether it was taken."""
    at = urlsplit(address)
    status, _, _ = ask(address, "/api/decide", "POST", json.dumps(plain).encode(), Origin=f"http://{at.netloc}",
                       Content_Type="application/json")
    return status == 200


def eye_of(visit):
    """How far the eye is from what it looks at, as drawn last, in mm."""
    return float(visit.page.locator("#space canvas").get_attribute("data-far"))


def test_a_tip_is_seen_near_and_the_way_out_is_played(ada):
    page = ada.page
    ada.pick("FB-001")
    page.locator('[data-at="tips FB-001 0"]').click()
    assert page.locator(".tips li").count() == 4
    assert "shelf, carries weight, 1.4 N of 2.0 N allowed" in page.locator(".tips li").first.inner_text()
    page.locator('[data-at="turn 0"]').click()
    page.wait_for_selector("#space canvas[data-hold]")
    whole = eye_of(ada)
    page.locator('[data-at="near 0 3"]').click()
    page.wait_for_function("(far) => Number(document.querySelector('#space canvas').dataset.far) < 0.5 * far",
                           arg=whole)
    ada.shot("close-up")
    page.get_by_role("button", name="How it comes out").click()
    way = "closed, arm, arm and object, arm, closed"  # it opens first, the object leaves, and all comes back
    page.wait_for_function("(way) => document.querySelector('#space canvas').dataset.way === way", arg=way)
    assert eye_of(ada) > whole  # with room for what leaves


def test_a_finding_leads_to_the_part_of_the_card_that_settles_it(browser, table):
    ben = Visit(browser, table, "Ben", "conservator")
    page = ben.page
    said = {"what": "refuse", "object": "FB-002", "topic": "contacts", "words": "the rim is flaking",
            "by": {"person": "Cy", "role": "conservator"}, "base": {"FB-002": ben.object("FB-002")["base"]}}
    assert decided(table, said)
    page.get_by_role("tab", name="Findings").click()
    page.get_by_role("button", name="Decide: object FB-002").first.click()
    page.wait_for_selector('[role="tab"][aria-selected="true"]:has-text("Object")')
    page.wait_for_selector("#panel h2:has-text('FB-002')")
    # the heading of that part stands at the top of what is seen, under the row of parts
    page.wait_for_function("""() => { const top = document.getElementById('panel').getBoundingClientRect().top;
        const part = document.querySelector('#of-words h3').getBoundingClientRect().top - top;
        return part > 0 && part < 120; }""")
    assert page.evaluate("document.activeElement.id") == "panel"
    assert "1 stop" in page.locator("#panel p.bad").first.inner_text()  # said above the holds
    ben.close()


def test_what_was_unfolded_stays_so_whoever_else_decides(browser, table, ada):
    ada.pick("FB-001")
    ada.page.locator('[data-at="release FB-001"]').click()
    waits = ada.page.locator("#of-place .release li").first
    waits.wait_for()
    seq = ada.page.evaluate("async () => (await (await fetch('/api/case')).json()).seq")
    lock = {"what": "lock", "object": "FB-002", "by": {"person": "Cy", "role": "designer"},
            "base": {"FB-002": ada.object("FB-002")["base"]}}
    assert decided(table, lock)
    ada.page.wait_for_selector("#news:has-text('Cy (designer)')")
    ada.page.wait_for_selector('#face [data-number="FB-002"].fixed')  # drawn anew
    assert waits.is_visible() and ada.object("FB-002")["base"] > seq


def test_lengths_on_a_card_are_in_the_unit_of_the_page(ada, table):
    page = ada.page
    ada.pick("FB-001")
    page.wait_for_selector("#of-facts li:has-text('mm (wide, high, deep)')")
    page.get_by_role("button", name="Lengths in mm: change").click()
    page.wait_for_selector("#of-facts li:has-text('in (wide, high, deep)')")
    page.wait_for_selector(".hold li:has-text(' in across')")
    status, _, body = ask(table, "/api/card?object=FB-001&units=ell")
    assert status == 400 and b"no unit of the page" in body


def test_a_guest_of_a_shared_table_sees_everything_and_can_decide_nothing(browser, made, tmp_path):
    shutil.copytree(made, tmp_path / "case")
    with serving(open_desk(open_case(tmp_path / "case"), 1, lambda done, total, sentence: None),
                 share=True) as addresses:
        assert "token=" in addresses.guest
        guest, host = Visit(browser, addresses.guest), Visit(browser, addresses.decides)
        page = guest.page
        assert page.get_attribute("html", "data-ready") == "guest"
        assert "token" not in page.url  # it stands in no history and on no screenshot
        assert "guest: you look, others decide" in page.locator("#bar").inner_text()
        guest.pick("FB-001")
        page.wait_for_selector("#of-book")
        assert page.locator("#of-place input:enabled, #of-place select:enabled, .hold button.main:enabled").count() == 0
        for words in ("Agree", "Refuse", "Undo", "Lock here", "Paint marks on it", "Look for a hold"):
            assert page.get_by_role("button", name=words, exact=True).count() == 0, words
        guest.drag("FB-001", 40)
        assert page.locator("#draft").is_hidden()
        guest.shot("guest")
        host.drag("FB-001", 0, 30)
        host.page.get_by_role("button", name="Confirm").click()
        page.wait_for_selector("#news:has-text('Ada (curator)')")  # and is kept in step
        stranger = browser.new_page()
        assert stranger.goto(addresses.guest.partition("?")[0]).status == 403
        stranger.close()
        host.close()
        guest.close()


@pytest.mark.parametrize("size", [(1024, 768), (820, 1180)])
def test_a_finger_finds_every_button_of_a_tablet(browser, table, size):
    """44 CSS px, the target size of WCAG 2.2, success criterion 2.5.5 (level AAA)."""
    ina = Visit(browser, table, "Ina", "installer", size, has_touch=True)
    page = ina.page
    page.locator('#face [data-number="FB-001"]').tap()
    page.wait_for_selector("#of-book")
    page.locator('[data-at="tips FB-001 0"]').tap()
    page.get_by_role("button", name="3D", exact=True).tap()
    page.wait_for_selector("#space canvas[data-drawn]", timeout=60_000)
    for tab in ("Object", "Findings", "Layouts", "Session", "To do"):
        page.get_by_role("tab", name=tab).tap()
        page.wait_for_selector(f'[role="tab"][aria-selected="true"]:has-text("{tab}")')
        small = page.evaluate("""() => [...document.querySelectorAll('button, input, select')].filter((one) => {
            const box = one.getBoundingClientRect(); return box.width && box.height < 43.5; })
            .map((one) => one.outerHTML.slice(0, 120))""")
        assert small == [], tab
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    ina.shot(f"tablet-{size[0]}")
    ina.close()
