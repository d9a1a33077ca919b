"""Who may talk to the desk. Kind: invariant; the rules are those of cookies, hosts and origins in browsers."""

import asyncio
import socket

import pytest

from lostneutral.desk.guard import BODY_MAX, Guard

PORT, TOKEN = 4321, "a-token"
OWN = {"host": "127.0.0.1:4321", "cookie": "lostneutral-desk-4321=a-token"}


def asked(headers, method="GET", path="/", query="", kind="http", body=b""):
    """Return (status, headers, whether the desk itself was asked, body) of a request."""
    sent, reached = [], []

    async def desk(scope, receive, send):
        message = await receive()
        reached.append(message["type"])
        if kind == "http":
            await send({"type": "http.response.start", "status": 200, "headers": [(b"content-type", b"text/html")]})
            await send({"type": "http.response.body", "body": b"desk"})

    async def receive():
        return {"type": "http.request", "body": body} if kind == "http" else {"type": "websocket.connect"}

    async def send(message):
        sent.append(message)

    scope = {"type": kind, "method": method, "path": path, "query_string": query.encode(),
             "headers": [(k.encode(), v.encode("latin-1")) for k, v in headers.items()]}
    asyncio.run(Guard(desk, PORT, TOKEN)(scope, receive, send))
    first = sent[0] if sent else {}
    heads = {k.decode(): v.decode() for k, v in first.get("headers", ())}
    return first.get("status", first.get("code")), heads, reached


def test_the_printed_address_gives_the_cookie_and_nothing_else_does():
    status, heads, reached = asked({"host": OWN["host"]}, query="token=a-token")
    assert status == 303 and heads["location"] == "/" and not reached
    assert all(word in heads["set-cookie"] for word in ("HttpOnly", "SameSite=Strict", "a-token"))
    assert asked(OWN)[0] == 200
    for wrong in ({"host": OWN["host"]}, OWN | {"cookie": "lostneutral-desk-4321=other"}, OWN | {"cookie": "lostneutral-desk-1=a-token"},
                  OWN | {"cookie": "\xff=;;"}):
        status, _, reached = asked(wrong)
        assert status == 403 and not reached
    assert asked({"host": OWN["host"]}, query="token=a-toke")[0] == 403
    assert asked({"host": OWN["host"]}, path="/documents/case", query="token=a-token")[0] == 403


@pytest.mark.parametrize("more", [{"host": "evil.example"}, {"host": "127.0.0.1:80"}, {"host": ""}, {"origin": "http://evil.example"},
                                  {"origin": "null"}, {"origin": "https://127.0.0.1:4321"}, {"sec-fetch-site": "cross-site"},
                                  {"sec-fetch-site": "same-site"}])
@pytest.mark.parametrize("kind", ["http", "websocket"])
def test_another_sites_page_is_refused_even_with_the_cookie(more, kind):
    status, _, reached = asked(OWN | {"origin": "http://127.0.0.1:4321"} | more, kind=kind)
    assert not reached and status in (403, 421, 1008)


def test_what_changes_something_has_to_say_where_it_comes_from():
    assert asked(OWN, method="POST")[0] == 403
    assert not asked(OWN, kind="websocket")[2]
    assert asked(OWN | {"origin": "http://localhost:4321", "host": "localhost:4321"}, method="POST")[0] == 200
    assert asked(OWN | {"origin": "http://127.0.0.1:4321"}, kind="websocket")[2] == ["websocket.connect"]


def test_too_large_is_refused_by_its_head_and_by_its_body():
    own = OWN | {"origin": "http://127.0.0.1:4321"}
    assert asked(own | {"content-length": str(BODY_MAX + 1)}, method="POST")[0] == 413
    assert asked(own | {"content-length": "many"}, method="POST")[0] == 400
    assert asked(own, method="POST", body=b"x" * (BODY_MAX + 1))[2] == ["http.disconnect"]
    assert asked(own, method="POST", body=b"x")[2] == ["http.request"] and asked(own | {"content-length": str(BODY_MAX)}, method="POST")[0] == 200


def test_every_answer_forbids_what_comes_from_elsewhere():
    _, heads, _ = asked(OWN)
    policy = heads["content-security-policy"]
    assert "default-src 'self'" in policy and "frame-ancestors 'self'" in policy and "http" not in policy
    assert heads["cross-origin-resource-policy"] == "same-origin" and heads["x-content-type-options"] == "nosniff"
    assert heads["referrer-policy"] == "no-referrer" and heads["cache-control"] == "no-store"


def test_the_desk_listens_at_the_loopback_address_only():
    from lostneutral.desk.server import listen
    from lostneutral.errors import UsageError

    with listen() as ear:
        assert ear.getsockname()[0] == "127.0.0.1" and ear.getsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR)  # at once after it was stopped
        ear.listen()
        with pytest.raises(UsageError, match="--port"):
            listen(ear.getsockname()[1])


def test_a_port_that_is_taken_leaves_no_socket_open(monkeypatch):
    from lostneutral.desk import server
    from lostneutral.errors import UsageError

    done = []

    class Taken:
        def __init__(self, *kind):
            done.append(kind)

        def setsockopt(self, *option):
            done.append(option)

        def bind(self, address):
            raise OSError(98, "Address already in use")

        def close(self):
            done.append("closed")

    monkeypatch.setattr(server.socket, "socket", Taken)
    with pytest.raises(UsageError, match="--port 80: cannot be used: Address already in use"):
        server.listen(80)
    assert done == [(socket.AF_INET, socket.SOCK_STREAM), (socket.SOL_SOCKET, socket.SO_REUSEADDR, 1), "closed"]
