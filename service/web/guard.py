"""Before any route: only our own host and site, bodies of bounded size; after it: headers that keep browsers strict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import SplitResult, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.texts import text
from service.web.errors import fault_answer, plain_answer

SAFE_METHODS = {"GET", "HEAD", "OPTIONS"}
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=(), payment=()",
}
"""On every answer; a route may set one of them more strictly."""


class TooLargeError(HTTPException):
    """A body grew past what is taken; told by the page for errors when a route is at work already."""


@dataclass(frozen=True)
class Guard:
    """Middleware. `hosts` are the names that this service answers to, without port: other names are a rebound DNS.

    `most_bytes` is the largest body, but for the paths in `exceptions`.
    """

    app: ASGIApp
    hosts: frozenset[str]
    most_bytes: int
    exceptions: Mapping[str, int]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        sender = _with_headers(send)
        refused = self._refused(scope)
        if refused is not None:
            await plain_answer(scope, *refused)(scope, receive, sender)
            return
        started: list[bool] = []
        try:
            await self.app(_as_read(scope), _counted(receive, self._most(scope)), _noting(sender, started))
        except Exception as error:
            if started:
                raise
            await fault_answer(Request(scope), error)(scope, receive, sender)

    def _refused(self, scope: Scope) -> tuple[int, str] | None:
        """Status and sentence for a request that no route is to see."""
        headers = Headers(scope=scope)
        if _split(f"//{headers.get('host', '')}").hostname not in self.hosts:
            return 421, text("error.wrong_host")
        if scope["method"] not in SAFE_METHODS and not _same_site(headers):
            return 403, text("error.wrong_site")
        if _told_length(headers) > self._most(scope):
            return 413, _too_large(self._most(scope))
        return None

    def _most(self, scope: Scope) -> int:
        return self.exceptions.get(scope["path"], self.most_bytes)


def _as_read(scope: Scope) -> Scope:
    """The request as the routes take it: what only asks for the head of an answer is answered as if it asked for all.

    The server, which still has the request as it came, sends no body then.
    """
    return {**scope, "method": "GET"} if scope["method"] == "HEAD" else scope


def _told_length(headers: Headers) -> int:
    told = headers.get("content-length", "")
    return int(told) if told.isascii() and told.isdigit() else 0


def _too_large(most_bytes: int) -> str:
    return text("error.too_large", megabytes=most_bytes // 1_000_000)


def _same_site(headers: Headers) -> bool:
    """Whether a request that changes something comes from our own pages, or from no browser at all.

    Browsers tell where a form or script came from (Fetch Metadata, Origin); programs send neither.
    """
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is not None and site not in ("same-origin", "none"):
        return False
    return origin is None or _split(origin).netloc == headers.get("host")


def _split(address: str) -> SplitResult:
    """The address in parts; one that is none has no parts."""
    try:
        return urlsplit(address)
    except ValueError:
        return SplitResult("", "", "", "", "")


def _with_headers(send: Send) -> Send:
    async def sender(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("cache-control", "no-store")
        await send(message)

    return sender


def _noting(send: Send, started: list[bool]) -> Send:
    """Note that an answer has begun: from then on there can be no other."""

    async def sender(message: Message) -> None:
        started.append(True)
        await send(message)

    return sender


def _counted(receive: Receive, most_bytes: int) -> Receive:
    """The body as it comes, up to so many bytes, whatever its header promised."""
    seen = 0

    async def receiver() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > most_bytes:
            raise TooLargeError(413, _too_large(most_bytes))
        return message

    return receiver
