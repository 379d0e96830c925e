"""The page as one file: it shows the case from a folder of its own, with no server, and asks nothing of anybody."""

import re

import pytest

from scanprep.review.desk import open_desk
from scanprep.review.single_file import write_single_file
from scanprep.survey.records import Showing
from tests.review.browsing import SHOTS, chromium, needs_browser
from tests.review.cases import keep_study, small_case
from tests.review.live import GUARD_S

pytestmark = [pytest.mark.slow, needs_browser]


def test_a_case_is_read_from_a_file_alone(tmp_path):
    steps, path, folder = [], tmp_path / "sent" / "case.html", small_case(tmp_path / "case", 3)
    up, front = (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
    keep_study(folder, "FB-002", 1, ways=(Showing(up, front, "upright", "as it stands"),
                                          Showing((0.0, -1.0, 0.0), front, "upright", "another way up")))
    desk = open_desk(folder, 1, lambda done, of, words: None)
    size = write_single_file(desk, path, lambda done, of, words: steps.append((done, of)))
    assert steps[-1] == (3, 3) and size == path.stat().st_size
    assert not re.findall(r'(?:src|href)="(?!data:|#)', path.read_text(encoding="utf-8"))
    browser, end = chromium()
    try:
        # the browser's own network is off, so that nothing but the file can be behind what is seen
        context = browser.new_context(offline=True, viewport={"width": 1280, "height": 720})
        page, asked, faults = context.new_page(), [], []
        page.set_default_timeout(GUARD_S * 1000)
        page.on("request", lambda request: asked.append(request.url))
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        page.on("console", lambda line: line.type == "error" and faults.append(line.text))
        page.goto(path.as_uri())
        page.wait_for_selector('html[data-ready="guest"]')
        assert page.locator("#face .thing").count() == 2
        page.locator('#face [data-number="FB-001"]').click()
        page.wait_for_selector(".hold img")
        picture = page.locator(".hold img").first
        assert picture.evaluate("async (image) => { await image.decode(); return image.naturalWidth; }") > 100
        assert page.get_by_role("button", name="Agree", exact=True).count() == 0
        page.locator('#face [data-number="FB-002"]').click()  # of which the file shows both ways up
        page.wait_for_selector("#panel h2:has-text('FB-002')")
        ways = page.locator(".showings img").all()
        assert [way.evaluate("async (image) => { await image.decode(); return image.naturalWidth > 100; }")
                for way in ways] == [True, True]
        assert page.locator(".showings button:enabled").count() == 0
        page.get_by_role("tab", name="To do").click()
        page.wait_for_selector("#panel:has-text('Decisions required')")
        assert "the curator has not agreed to the angle" in page.locator("#panel").inner_text()
        page.get_by_role("button", name="3D", exact=True).click()
        page.wait_for_selector('#space canvas[data-drawn="2"]')
        SHOTS.mkdir(exist_ok=True)
        page.screenshot(path=str(SHOTS / "file-to-send.png"))
        assert faults == []
        assert [url for url in asked if not url.startswith(("file:", "blob:", "data:"))] == []
    finally:
        end()
