"""What the network answers by itself: in the server's stead, and the files of a light phone."""

from pathlib import Path

from django.conf import settings

LIGHT = Path(__file__).parent / "light"
FILES = {"/light/": LIGHT, "/static/heaps/": settings.BASE_DIR / "static" / "heaps"}
KINDS = {".html": "text/html", ".js": "text/javascript"}
#: What networks answer in the server's stead: status, content type, further headers, body.
ANSWERS: dict[str, tuple[str, str, str, str]] = {
    "sign-in page of the network": ("200 OK", "text/html", "", "<h1>Welcome. Please sign in to this network.</h1>"),
    "redirect to it": ("302 Found", "text/html", "Location: /sign-in/\r\n", ""),
    "bad gateway": ("502 Bad Gateway", "text/html", "", "<h1>502</h1>"),
    "too large": ("413 Content Too Large", "text/html", "", "<h1>413</h1>"),
    "too many": ("429 Too Many Requests", "text/html", "Retry-After: 120\r\n", ""),
    "at rest": ("503 Service Unavailable", "text/html", "Retry-After: 60\r\n", "<h1>The server rests</h1>"),
    "forbidden": ("403 Forbidden", "text/html", "", "<h1>403</h1>"),
    "broken": ("500 Internal Server Error", "text/html", "", "<h1>500</h1>"),
    "no receipts": ("200 OK", "application/json", "", '{"wire": 1, "receipts": []}'),
    "newer wire": ("200 OK", "application/json", "", '{"wire": 2, "receipts": []}'),
    "half of a sentence": ("200 OK", "application/json", "", '{"wire": 1, "receipts": [{"uid": "'),
}


def canned(name: str) -> bytes:
    """An answer that no server of ours gave."""
    status, kind, headers, body = ANSWERS[name]
    head = f"HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {len(body)}\r\n{headers}\r\n"
    return (head + body).encode()


def file_at(path: str) -> bytes | None:
    """The product's own modules, and the bare page that calls them, kept by the browser from then on."""
    for prefix, folder in FILES.items():
        file = folder / path.removeprefix(prefix)
        if path.startswith(prefix) and file.suffix in KINDS and file.is_file():
            content = file.read_bytes()
            head = f"HTTP/1.1 200 OK\r\nContent-Type: {KINDS[file.suffix]}; charset=utf-8\r\n"
            kept = f"Cache-Control: max-age=31536000, immutable\r\nContent-Length: {len(content)}\r\n\r\n"
            return (head + kept).encode() + content
    return None
