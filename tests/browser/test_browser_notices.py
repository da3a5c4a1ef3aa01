"""The pages of notices and later work as a browser sees them, on a phone too."""

from __future__ import annotations

import pytest

from jobs.models import MessageState
from tests import builders
from tests.browser.conftest import DESKTOP, PHONE
from tests.browser.test_browser_roof import faults_on
from tests.jobs.later import make_run
from tests.pages.test_pages_notices import make_message

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.usefixtures("grace")]
SIZES = pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])


@SIZES
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_any_page(visitor_at, roof, office, size, scheme):
    message = make_message(roof, state=MessageState.UNCERTAIN)
    make_run(now=builders.NOON)
    unit = roof.coach.unit_no
    visitor = visitor_at(size, scheme=scheme, user=office)
    faults = []
    for path in (
        "/notices/",
        f"/notices/{message.uuid}/",
        f"/notices/to/{message.owner.uuid}/",
        f"/notices/preview?coach={unit}&step=BEFORE_30&language=es",
        f"/notices/preview.html?coach={unit}&step=BEFORE_30&language=en",
        "/later-work/",
    ):
        visitor.open(path)
        faults += [(path, fault) for fault in faults_on(visitor)]
        if path.startswith("/notices/preview.html"):
            # A mail names no icon, so the browser asks for one that is not there.
            visitor.page.wait_for_load_state("networkidle")
            visitor.complaints.clear()

    assert faults == []
    assert visitor.complaints == []
