"""What the browser's tests share: the browser, one a file, and a page of Ada's over each test's own `table`."""

import pytest

from tests.review.browsing import Visit, chromium


@pytest.fixture(scope="module")
def browser():
    found, end = chromium()
    yield found
    end()


@pytest.fixture
def ada(browser, table):
    visit = Visit(browser, table)
    yield visit
    visit.close()
