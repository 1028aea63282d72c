"""The page of this site to go back to, told by a request or an address: never one of another site."""

from __future__ import annotations

from urllib.parse import quote, urlsplit

from fastapi import Request

LONGEST = 2000


def own_page(told: str) -> str:
    """The path, with its query, if it is one of this site; else empty.

    To a browser two slashes begin another site's address, a slash that leans back is one that does not, and signs that
    nobody sees are not there.
    """
    seen = told.isprintable() and not told[:2].replace("\\", "/").startswith("//")
    return told if seen and told.startswith("/") and len(told) <= LONGEST else ""


def came_from(request: Request) -> str:
    """The page that the request came from; empty when it tells of none of this site."""
    try:
        told = urlsplit(request.headers.get("referer", ""))
    except ValueError:
        return ""
    if not told.netloc or told.netloc != request.headers.get("host"):
        return ""
    path = f"/{told.path.lstrip('/')}"  # two slashes would lead to another site
    return own_page(f"{path}?{told.query}" if told.query else path)


def sign_in_first(request: Request) -> str:
    """The address to sign in at, which leads on to the page that was asked for, or that a form was sent from."""
    asked = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    back = own_page(asked) if request.method in ("GET", "HEAD") else came_from(request)
    return f"/sign-in?back={quote(back, safe='/')}" if back not in ("", "/") else "/sign-in"
