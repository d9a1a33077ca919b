"""Who may talk to the desk: only a browser that was given its address with the token, at the loopback address.

Every request is checked before anything else sees it, pages and sockets alike: its Host has to be this desk's, its Origin,
where it has one, too; then the token, which the first address puts into a cookie that no other site's page can send.
"""

import secrets
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs

HEADERS = (
    (b"cache-control", b"no-store"), (b"x-content-type-options", b"nosniff"), (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"), (b"cross-origin-opener-policy", b"same-origin"),
    (b"x-frame-options", b"SAMEORIGIN"),
    (b"permissions-policy", b"geolocation=(), microphone=(), payment=(), usb=()"),
)
POLICY = ("default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; style-src 'self' 'unsafe-inline'; "
          "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self' ws://{host}; frame-src 'self' blob:; "
          "object-src 'self'; frame-ancestors 'self'; base-uri 'self'; form-action 'self'")
"""Of pages: nothing from anywhere but here. The framework needs inline and evaluated scripts."""
BODY_MAX = 30_000_000  #: bytes of a request


class Guard:
    """An ASGI application around another."""

    def __init__(self, app, port: int, token: str | None = None):
        self.app, self.port = app, port
        self.token = token or secrets.token_urlsafe(24)
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self.cookie = f"lostneutral-desk-{port}"

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}/?token={self.token}"

    async def __call__(self, scope, receive, send):
        if scope["type"] not in ("http", "websocket"):
            return await self.app(scope, receive, send)
        headers = {key.lower(): value.decode("latin-1") for key, value in scope["headers"]}
        wrong = self._wrong(scope, headers)
        if wrong is None and self._brings_token(scope):
            return await self._redirect(send)
        if wrong is None and not self._known(headers):
            wrong = 403, "This address has no valid token. Open the address that `lostneutral desk` printed."
        if wrong:
            return await self._refuse(scope, send, *wrong)
        return await self.app(scope, _limited(receive), self._marked(send, headers))

    def _wrong(self, scope, headers):
        """Return (status, words) of what is wrong before any token is looked at, or None."""
        if headers.get(b"host", "").lower() not in self.hosts:
            return 421, "This desk answers at its own address only."
        origin = headers.get(b"origin")
        if origin is not None and origin.lower().removeprefix("http://") not in self.hosts:
            return 403, "Another site's page may not talk to the desk."
        if headers.get(b"sec-fetch-site", "none") not in ("none", "same-origin"):
            return 403, "Another site's page may not talk to the desk."
        if origin is None and (scope["type"] == "websocket" or scope["method"] not in ("GET", "HEAD")):
            return 403, "A request without an origin may not change anything."
        try:
            if int(headers.get(b"content-length", "0")) > BODY_MAX:
                return 413, f"More than {BODY_MAX // 10**6} MB are not taken."
        except ValueError:
            return 400, "The length of this request cannot be read."
        return None

    def _brings_token(self, scope):
        if scope["type"] != "http" or scope["method"] != "GET" or scope["path"] != "/":
            return False
        brought = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        return secrets.compare_digest(brought.encode(), self.token.encode())

    def _known(self, headers):
        try:
            held = SimpleCookie(headers.get(b"cookie", "")).get(self.cookie)
        except CookieError:
            return False
        return held is not None and secrets.compare_digest(held.value.encode(), self.token.encode())

    async def _redirect(self, send):
        cookie = f"{self.cookie}={self.token}; HttpOnly; SameSite=Strict; Path=/"
        await send({"type": "http.response.start", "status": 303,
                    "headers": [(b"location", b"/"), (b"set-cookie", cookie.encode()), *HEADERS]})
        await send({"type": "http.response.body", "body": b""})

    async def _refuse(self, scope, send, status, words):
        if scope["type"] == "websocket":
            return await send({"type": "websocket.close", "code": 1008})
        body = words.encode("utf-8")
        await send({"type": "http.response.start", "status": status, "headers": [
            (b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode()),
            (b"connection", b"close"), *HEADERS]})
        await send({"type": "http.response.body", "body": body})

    def _marked(self, send, headers):
        async def sent(message):
            if message["type"] == "http.response.start":
                given = {key.lower() for key, _ in message["headers"]}
                policy = (b"content-security-policy", POLICY.format(host=headers[b"host"]).encode())
                more = [pair for pair in (*HEADERS, policy) if pair[0] not in given]
                # The framework's own files have names with their version: they may be kept by the browser.
                message = {**message, "headers": [*message["headers"], *more]}
            await send(message)

        return sent


def _limited(receive):
    """Return `receive` that ends a body of more than BODY_MAX, whatever length its head stated."""
    taken = 0

    async def received():
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        return {"type": "http.disconnect"} if message["type"] == "http.request" and taken > BODY_MAX else message

    return received
