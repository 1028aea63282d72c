"""The part of the site that opens without the network: one page to send from, with nobody's boards in it."""

from __future__ import annotations

import hashlib
import json
from functools import cache

from service.texts import FILE
from service.web.looks import FOLDER

PAGE = "/without-network"
FILES = (
    PAGE,
    "/app.webmanifest",
    *(
        f"/static/{name}"
        for name in (
            "style.css",
            "print.css",
            "kept.js",
            "stays.js",
            "local_times.js",
            "kept-here.js",
            "send.js",
            "signs.svg",
            "class-signs.svg",
            "icon.svg",
            "icon-192.png",
        )
    ),
)
"""What the page needs, itself included."""


@cache
def worker_script() -> str:
    """The service worker, told which files to store under which version; another version whenever any file differs."""
    shell = {"version": f"tailproof-{_digest()}", "page": PAGE, "files": FILES}
    script = (FOLDER / "static" / "worker.js").read_text(encoding="utf-8")
    return f"const SHELL = {json.dumps(shell)};\n{script}"


def _digest() -> str:
    sources = sorted([*(FOLDER / "static").rglob("*"), *(FOLDER / "templates").rglob("*"), FILE])
    digest = hashlib.sha256()
    for path in sources:
        if path.is_file():
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]
