"""One drop-off on the phone goes the way that DEVELOPERS.md lists: counted by the browser while a thumb keeps it."""

import re

import pytest
from django.contrib.staticfiles.storage import staticfiles_storage
from playwright.sync_api import Browser, Route

from tests import chromium
from tests.browser.steps import record_coffee, sign_in, wait_until
from tests.hops import HOME, on_the_phone
from tests.serving import Server

pytestmark = pytest.mark.browser


def with_its_names(route: Route) -> None:
    """The page's modules as they are written: in the joined file their functions have short names."""
    modules = staticfiles_storage.url("heaps/drop-off.js")
    route.fulfill(body=f'import "{modules}";', content_type="text/javascript")


def test_a_tap_goes_through_the_listed_hops(browser: Browser, server: Server) -> None:
    page = chromium.new_phone(browser, service_workers="block").new_page()
    page.route("**/drop-off.page.*.js", with_its_names)
    sign_in(page, server)
    devtools = page.context.new_cdp_session(page)
    devtools.send("Profiler.enable")
    devtools.send("Profiler.startPreciseCoverage", {"callCount": True, "detailed": False})
    devtools.send("Profiler.takePreciseCoverage")  # what came before is not counted
    record_coffee(page)
    wait_until(page, lambda: server.entries == 1)
    called = {
        function["functionName"]
        for script in devtools.send("Profiler.takePreciseCoverage")["result"]
        for function in script["functions"]
        if script["url"].startswith(server.url) and function["ranges"][0]["count"]
    }
    page.context.close()
    assert {function for _where, function in on_the_phone()} - called == set()


def test_each_hop_calls_the_next_one_s_module_itself() -> None:
    first, *others = on_the_phone()
    source = (HOME / first[0]).read_text(encoding="utf-8")
    for where, function in others:
        file = where.rsplit("/", 1)[-1]
        assert re.search(rf'import \{{[^}}]*\b{function}\b[^}}]*\}} from "\./{file}"', source)
        assert re.search(rf"^export (async )?function {function}\b", (HOME / where).read_text(encoding="utf-8"), re.M)
