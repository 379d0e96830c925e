"""A real browser for tests: Debian's chromium, headless, drawing in software, off every network."""

import json
import re
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.review.live import GUARD_S

CHROMIUM = Path("/usr/bin/chromium")
#: Pictures that a run leaves for people to look at; not part of the project.
SHOTS = Path(__file__).resolve().parents[2] / "screenshots"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--use-gl=angle", "--use-angle=swiftshader",
         "--enable-unsafe-swiftshader"]

needs_browser = pytest.mark.skipif(not CHROMIUM.exists(), reason="needs Debian's chromium in /usr/bin (apt-get install "
                                                                 "chromium); the project's own run installs it")


def chromium():
    """A started browser and what ends it."""
    from playwright.sync_api import sync_playwright

    player = sync_playwright().start()
    browser = player.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)

    def end():
        browser.close()
        player.stop()

    return browser, end


class Visit:
    """One page over one server. Notes every request to elsewhere and every fault of the page."""

    def __init__(self, browser, address, name="Ada", role="curator", size=(1280, 720), strict=False, **more):
        # the driver's own waiting evaluates text, which the page's policy forbids; strict leaves the policy on
        self.own, self.elsewhere, self.faults = urlsplit(address).netloc, [], []
        self.context = browser.new_context(viewport={"width": size[0], "height": size[1]}, bypass_csp=not strict,
                                           **more)
        self.context.route(re.compile(".*"), self._only_own)
        self.page = self.context.new_page()
        self.page.set_default_timeout(GUARD_S * 1000)
        self.page.on("pageerror", lambda fault: self.faults.append(str(fault)))
        self.page.on("console", lambda line: line.type == "error" and self.faults.append(line.text))
        self.page.goto(address)
        self.page.wait_for_selector("html[data-ready]")  # the case is open by then
        if name and self.page.locator("#person").count():
            self.page.fill("#person", name)
            self.page.select_option('[data-at="role"]', role)

    def _only_own(self, route):
        url = route.request.url
        if urlsplit(url).netloc == self.own or url.startswith(("data:", "blob:")):
            route.continue_()
        else:
            self.elsewhere.append(url)
            route.abort()

    def thing(self, number):
        return self.page.locator(f'#face [data-number="{number}"]')

    def pick(self, number):
        """Click an object, until the side shows what there is of it."""
        self.thing(number).click()
        self.page.wait_for_selector(f'#panel[data-of$=" {number}"]')

    def drag(self, number, dx_px, dy_px=0):
        x, y = self._middle(number, "path.body")
        y += 12  # beside the hole's mark
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        self.page.mouse.move(x + dx_px / 2, y + dy_px / 2, steps=4)
        self.page.mouse.move(x + dx_px, y + dy_px, steps=6)
        self.page.mouse.up()

    def gap_px(self, one, other):
        """From one object's hole to another's, on the screen."""
        (ax, ay), (bx, by) = (self._middle(n, "circle.hole") for n in (one, other))
        return bx - ax, by - ay

    def _middle(self, number, part):
        """The middle of a part on the screen, once the page has drawn it in one place for three pictures."""
        self.thing(number).wait_for()
        return self.page.evaluate("""async ([number, part]) => {
            const where = () => { const box = document.querySelector(`#face [data-number="${number}"] ${part}`)
                .getBoundingClientRect(); return [box.x + box.width / 2, box.y + box.height / 2]; };
            const drawn = () => new Promise((then) => requestAnimationFrame(() => requestAnimationFrame(then)));
            let last = where(), still = 0;
            while (still < 3) {
                await drawn();
                const now = where();
                still = now.join() === last.join() ? still + 1 : 0;
                last = now;
            }
            return last; }""", [number, part])

    def object(self, number):
        """An object as the server now has it."""
        return self.page.evaluate("async (n) => (await (await fetch('/api/case')).json()).objects"
                                  ".find((one) => one.number === n)", number)

    def shot(self, name):
        SHOTS.mkdir(exist_ok=True)
        self.page.screenshot(path=str(SHOTS / f"{name}.png"))

    def close(self):
        self.context.close()
        assert self.faults == [], json.dumps(self.faults)
        assert self.elsewhere == []
