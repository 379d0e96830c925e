"""Who is let in: requests as browsers and others send them, against a running server.

What browsers send with requests from other sites: Fetch standard (fetch.spec.whatwg.org), `Origin` on every POST and
websocket; names pointed at this machine (DNS rebinding) show in `Host`.
"""

import gzip
import json
from urllib.parse import parse_qs, urlsplit

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from tests.review.cases import small_desk
from tests.review.live import ask, heard, say, serving

AGREE = {"what": "lock", "object": "FB-001", "by": {"person": "Ada"}, "base": {"FB-001": 3}}


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    return small_desk(tmp_path_factory.mktemp("door"), 2)


@pytest.fixture(scope="module")
def address(desk):
    with serving(desk) as addresses:
        yield addresses.decides


@pytest.fixture(scope="module")
def shared(desk):
    with serving(desk, share=True) as addresses:
        yield addresses


def test_it_listens_on_this_machine_only_unless_shared(address, shared):
    assert urlsplit(address).hostname == "127.0.0.1"
    assert "token=" in shared.decides and "token=" in shared.guest and shared.decides != shared.guest


@pytest.mark.parametrize("host", ["", "evil.example", "evil.example:80", "127.0.0.1", "127.0.0.1:1", "localhost.evil"])
def test_another_name_for_this_machine_is_turned_away(address, host):
    for path in ("/", "/api/case", "/web/app.js"):
        assert ask(address, path, host=host)[0] in (400, 403)


@pytest.mark.parametrize("origin", [None, "null", "http://evil.example", "https://{own}", "http://127.0.0.1:1",
                                    "http://{own}.evil.example", "file://"])
def test_a_change_from_another_page_is_turned_away(address, desk, origin):
    own, before = urlsplit(address).netloc, desk.folder.state.seq
    headers = {} if origin is None else {"Origin": origin.format(own=own)}
    status, _, body = ask(address, "/api/decide", "POST", json.dumps(AGREE).encode(), Content_Type="application/json",
                          **headers)
    assert status == 403 and b"page of this server" in body
    assert desk.folder.state.seq == before


def test_another_sites_script_may_not_read(address):
    assert ask(address, "/api/case", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="no-cors",
               Sec_Fetch_Dest="script")[0] == 403
    assert ask(address, "/api/case", Origin="http://evil.example")[0] == 403
    # a person who follows a link from elsewhere gets the page
    assert ask(address, "/", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="navigate",
               Sec_Fetch_Dest="document")[0] == 200


@pytest.mark.parametrize("origin", [None, "http://evil.example", "null"])
def test_a_websocket_from_another_page_is_turned_away(address, origin):
    with (pytest.raises((InvalidStatus, ConnectionClosed)),
          connect(f"ws://{urlsplit(address).netloc}/live", origin=origin) as socket):
        socket.recv(timeout=60)


def test_what_is_shared_wants_a_token(shared):
    for path in ("/", "/api/case", "/web/app.js", "/api/shapes"):
        status, _, body = ask(shared.decides, path)
        assert status == 403 and b"token" in body
    assert ask(shared.decides, "/?token=guessed")[0] == 403
    assert ask(shared.decides, "/api/case", Cookie="scanprep_review=guessed")[0] == 403
    assert ask(shared.decides, "/api/case", Cookie="scanprep_review=\x7f; ;;==")[0] in (400, 403)
    own = urlsplit(shared.decides).netloc
    with (pytest.raises((InvalidStatus, ConnectionClosed)),
          connect(f"ws://{own}/live", origin=f"http://{own}") as socket):
        socket.recv(timeout=60)


def _cookie(address):
    status, headers, _ = ask(address, "/?" + urlsplit(address).query)
    assert status == 303 and headers["location"] == "/"  # the token leaves the address
    kept = headers["set-cookie"]
    assert "HttpOnly" in kept and "samesite=strict" in kept.lower()
    assert parse_qs(urlsplit(address).query)["token"][0] in kept
    return kept.partition(";")[0]


def test_a_guest_looks_and_does_not_decide(shared, desk):
    cookie, before = _cookie(shared.guest), desk.folder.state.seq
    status, _, body = ask(shared.guest, "/api/case", Cookie=cookie)
    assert status == 200 and json.loads(gzip.decompress(body))["seat"] == "guest"
    status, told = say(shared.guest, "/api/decide", AGREE, Cookie=cookie)
    assert status == 403 and "guests look" in told["sentence"]
    assert desk.folder.state.seq == before
    cookie = _cookie(shared.decides)
    assert json.loads(gzip.decompress(ask(shared.decides, "/api/case", Cookie=cookie)[2]))["seat"] == "decides"


@pytest.mark.parametrize("path", [
    "/web/../desk.py", "/web/..%2fdesk.py", "/web/%2e%2e/%2e%2e/case.toml", "/web/....//desk.py", "//etc/passwd",
    "/web/page.css%00.png", "/picture/../../record.sqlite", "/picture/..%2f..%2frecord.sqlite.png", "/model/x.glb",
    "/hold/%2e%2e/0/front.png", "/web/", "/record.sqlite", "/hold/x/99999999999999999999/front.png",
])
def test_no_address_reaches_another_file(address, path):
    assert ask(address, path)[0] in (400, 404)


def test_answers_forbid_what_a_page_does_not_need(address):
    _, headers, _ = ask(address, "/")
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff" and "server" not in headers
    assert ask(address, "/api/case")[1]["cache-control"] == "no-store"


@pytest.mark.parametrize(("raw", "code"), [
    (b"", 400), (b"{", 400), (b"[]", 400), (b"null", 400), (b'{"what": 1}', 400), (b"[" * 60_000, 400),
    (b'{"what":"place","by":{"person":"Ada"},"base":{"FB-001":9},"moves":[{"object":"FB-001","panel":"West",'
     b'"face":"A","from_left_mm":NaN,"y_mm":1}]}', 400),
    (b'{"what":"place","by":{"person":"Ada"},"base":{"FB-001":9},"moves":[{"object":"FB-001","panel":"West",'
     b'"face":"C","from_left_mm":1,"y_mm":1}]}', 400),
    (b'{"what":"place","by":{"person":"Ada"},"base":{"FB-001":9},"moves":[{"object":"FB-001","panel":"Nowhere",'
     b'"face":"A","from_left_mm":1,"y_mm":1}]}', 400),
    (b'{"what":"place","by":{"person":"Ada"},"base":{"FB-001":9},"moves":[{"object":"FB-001","panel":"West",'
     b'"face":"A","from_left_mm":1e9,"y_mm":1}]}', 400),
    (b'{"what":"dance","by":{"person":"Ada"},"base":{}}', 400), (b'{"what":"lock","by":{"person":" "},"base":{}}', 400),
    (b'{"what":"lock","by":{"person":"Ada"},"base":{},"object":"FB-001"}', 400),
    (b'{"what":"lock","by":{"person":"Ada"},"base":{"FB-009":0},"object":"FB-009"}', 422),
    (b'{"what":"hold","by":{"person":"Ada"},"base":{"FB-001":9},"object":"FB-001","index":77}', 400),
    (b'{"what":"lock","by":{"person":"Ada\\u0007"},"base":{"FB-001":9},"object":"FB-001"}', 400),
    (b'{"what":"lock","by":{"person":"Ada","admin":true},"base":{"FB-001":9},"object":"FB-001"}', 400),
    (b'{"what":"lock","by":{"person":"' + b"A" * 3000 + b'"},"base":{"FB-001":9},"object":"FB-001"}', 400),
    (b" " * 70_000, 400), (b'"\xff\xfe"', 400),
])
def test_messages_that_cannot_be_taken_are_refused_in_a_sentence(address, desk, raw, code):
    before = desk.folder.state.seq
    status, told = say(address, "/api/decide", raw)
    assert status == code and len(told["sentence"]) > 10 and "Traceback" not in told["sentence"]
    assert desk.folder.state.seq == before


def test_a_message_of_another_kind_is_refused(address):
    own = f"http://{urlsplit(address).netloc}"
    assert ask(address, "/api/decide", "POST", b"{}", Origin=own, Content_Type="text/plain")[0] == 400
    assert ask(address, "/api/decide", "GET")[0] == 405


def test_a_websocket_answers_nonsense_and_ends_what_is_too_long(address):
    own = urlsplit(address).netloc
    with connect(f"ws://{own}/live", origin=f"http://{own}") as socket:
        assert heard(socket)["type"] == "hello"
        for nonsense in ("", "{", "[]", '{"ticket": "x", "moves": []}', '{"ticket": 1, "moves": [{"object": "none"}]}'):
            socket.send(nonsense)
            assert heard(socket)["type"] == "refused"
        socket.send(json.dumps({"ticket": 7, "moves": []}))
        assert heard(socket) == {"type": "findings", "ticket": 7, "findings": []}
        with pytest.raises(ConnectionClosed):
            socket.send("x" * 200_000)
            heard(socket)
    assert ask(address, "/api/case")[0] == 200
