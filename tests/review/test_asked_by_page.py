"""In a real browser: what the page asks of people by pictures, searches that they stop, texts that hide something."""

import multiprocessing
import shutil
import unicodedata

import pytest

from scanprep.case.record.lines import with_words
from scanprep.plain_text import visible
from scanprep.review.desk import open_desk
from scanprep.review.restudy import StudyJob
from scanprep.survey.records import Showing
from scanprep.workspace.folder import open_case
from tests.review.browsing import Visit, needs_browser
from tests.review.cases import keep_study, small_case
from tests.review.endless import DONE, OF, endless_search
from tests.review.live import serving

pytestmark = [pytest.mark.slow, needs_browser]
OVERRIDE, ISOLATE, SHY, ESCAPE = chr(0x202E), chr(0x2066), chr(0xAD), chr(0x1B)
UP, FRONT, DOWN = (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)
WAYS = (Showing(UP, FRONT, "upright", "it stands on its foot"),
        Showing(DOWN, FRONT, "upright", "another way up"))


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return small_case(tmp_path_factory.mktemp("made") / "case", 3, first=f"Cup {OVERRIDE}321{SHY}").root


@pytest.fixture
def folder(made, tmp_path):
    """A fresh copy of the case."""
    shutil.copytree(made, tmp_path / "case")
    return open_case(tmp_path / "case")


def at_table(folder):
    return serving(open_desk(open_case(folder.root), 0, lambda done, total, sentence: None))


def test_which_way_up_is_chosen_by_its_picture(browser, folder):
    keep_study(folder, "FB-001", 0, ways=WAYS)
    said = with_words(folder.state.objects["FB-001"], {"up": list(DOWN), "front": list(FRONT)})
    keep_study(folder, "FB-001", 0, brief=said)  # what the search will find when it is said
    with at_table(folder) as addresses:
        ada = Visit(browser, addresses.decides)
        page = ada.page
        ada.pick("FB-001")
        page.wait_for_selector(".showings article")
        pictures = page.locator(".showings img")
        assert pictures.count() == 2
        seen = [picture.evaluate("async (image) => { await image.decode(); return image.naturalWidth; }")
                for picture in pictures.all()]
        assert min(seen) > 100
        assert pictures.nth(0).screenshot() != pictures.nth(1).screenshot()
        ada.shot("which-way-up")
        pictures.nth(1).click()  # the picture itself, not only the button under it
        page.wait_for_selector(".showings", state="detached")  # looked for again, and nothing is unsure any more
        ada.close()
    kept = open_case(folder.root)
    assert (kept.state.objects["FB-001"].up, kept.state.objects["FB-001"].front) == (DOWN, FRONT)
    assert kept.entries[-1].person == "Ada (curator)"


def test_a_running_search_says_how_far_it_is_and_is_stopped(browser, folder, monkeypatch):
    monkeypatch.setattr(StudyJob, "call", lambda job, folder: (endless_search,))
    with at_table(folder) as addresses:
        ada = Visit(browser, addresses.decides)
        page = ada.page
        ada.pick("FB-001")
        page.fill('[data-at="angle turn"]', "70")
        page.press('[data-at="angle turn"]', "Enter")
        page.locator('[data-at="ask angles"]').click()
        line = "#of-angles .work li:has-text('turn +70°')"
        page.wait_for_selector(f"{line}:has-text('{DONE} of {OF} steps')")
        assert page.locator(f"{line} progress").evaluate("(bar) => [bar.value, bar.max]") == [DONE, OF]
        ada.shot("search-under-way")
        page.locator(f"{line} button:has-text('Stop')").click()
        page.wait_for_selector("#of-angles .work", state="detached")
        page.wait_for_selector("#news:has-text('the search was stopped')")
        assert page.locator('[data-at="hold 3"]').count() == 0
        for process in multiprocessing.active_children():
            process.join(30)
            assert not process.is_alive()  # it does not go on unseen
        monkeypatch.undo()  # and the next search runs: this one has no scan to read, and says so
        page.locator('[data-at="ask angles"]').click()
        page.wait_for_selector("#of-angles li:has-text('turn +70°'):has-text('scans')")
        ada.close()


def test_control_and_direction_characters_are_seen_not_obeyed(browser, folder):
    name, note = f"Eve {OVERRIDE}rotaruc", f"rim {ISOLATE}chipped"
    with at_table(folder) as addresses:
        eve = Visit(browser, addresses.decides, name, "conservator")
        page = eve.page
        eve.pick("FB-001")
        page.wait_for_selector('[data-at="words"]')
        assert page.locator("#panel h2").inner_text() == "FB-001 Cup <U+202E>321<U+00AD>"
        assert "Cup <U+202E>321" in eve.thing("FB-001").get_attribute("aria-label")
        page.fill('[data-at="words"]', f"loose {OVERRIDE}ecils")
        page.get_by_role("button", name="Refuse").click()
        page.wait_for_selector(".said .refused:has-text('Eve <U+202E>rotaruc (conservator) refuses')")
        page.wait_for_selector("#of-findings:has-text('loose <U+202E>ecils')")
        page.fill('[data-at="line note"]', note)
        page.get_by_role("button", name="Keep the note").click()
        page.wait_for_selector("#of-note-seen:has-text('rim <U+2066>chipped')")
        assert page.input_value('[data-at="line note"]') == note  # what is edited is what is kept
        eve.shot("hidden-characters")
        whole = page.evaluate("document.documentElement.outerHTML")
        assert not {letter for letter in whole if unicodedata.category(letter) in ("Cc", "Cf")} - set("\n\t")
        page.fill('[data-at="words"]', f"torn{ESCAPE}[2J")
        page.get_by_role("button", name="Note its condition").click()
        page.wait_for_selector("#news:has-text('holds control characters')")
        eve.faults[:] = [fault for fault in eve.faults if "400" not in fault]  # the browser notes the refusal
        eve.close()


def test_the_page_and_the_papers_show_hidden_characters_alike(browser, folder):
    """Against scanprep.plain_text, which the papers print with: every letter below U+3000 and above U+D7FF that is no
    surrogate, alone, after a Latin letter, and after an Arabic one, which joins (Unicode 14, general categories)."""
    letters = [chr(c) for c in (*range(0x3000), *range(0xE000, 0x10000), 0x1D173, 0xE0001, 0xE0041, 0x1F600)
               if unicodedata.category(chr(c)) != "Cn"]  # what is unassigned to one reader may be assigned to another
    texts = [before + letter for before in ("", "a", chr(0x628)) for letter in letters]
    with at_table(folder) as addresses:
        ada = Visit(browser, addresses.decides)
        seen = ada.page.evaluate("""async (texts) => { const { visible } = await import('/web/visible.js');
            return texts.map(visible); }""", texts)
        ada.close()
    assert seen == [visible(text) for text in texts]
