"""Somebody who uses the API from outside, over HTTP, with a token of their own."""

from __future__ import annotations

import http.client
import json
import secrets
import urllib.parse
from contextlib import closing
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Answer:
    status: int
    body: Any
    mark: str = ""  # its ETag

    def __getitem__(self, name: str) -> Any:
        return self.body[name]


class Person:
    def __init__(self, address: str, username: str, password: str) -> None:
        self.at = urllib.parse.urlsplit(address).netloc
        self.token = ""
        made = self.post("tokens", name="for this story", username=username, password=password, days=366)
        self.token, self.id = made["token"], made["user"]

    def get(self, path: str, **query: Any) -> Answer:
        asked = f"?{urllib.parse.urlencode(query)}" if query else ""
        return self._ask("GET", f"{path}/{asked}", 200)

    def all_of(self, path: str, **query: Any) -> list[dict[str, Any]]:
        """A list from its first page to its last."""
        page = self.get(path, **query)
        found = page["results"]
        while page["next"]:
            further = dict(urllib.parse.parse_qsl(urllib.parse.urlsplit(page["next"]).query))
            page = self.get(path, **further)
            found += page["results"]
        return found

    def post(self, path: str, to_be: int = 201, /, *, mark: str = "", **sent: Any) -> Answer:
        return self._ask("POST", f"{path}/", to_be, json.dumps(sent).encode(), mark)

    def refused(self, path: str, status: int = 409, /, **sent: Any) -> Answer:
        return self.post(path, status, **sent)

    def photo(self, opening: int, picture: bytes, **about: Any) -> Answer:
        edge = secrets.token_hex(16)
        parts = [f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
                 for name, value in {"opening": opening, **about}.items()]
        head = f'--{edge}\r\nContent-Disposition: form-data; name="photo"; filename="photo.jpg"\r\n\r\n'.encode()
        body = b"".join(parts) + head + picture + f"\r\n--{edge}--\r\n".encode()
        return self._ask("POST", "photos/", 201, body, kind=f"multipart/form-data; boundary={edge}")

    def _ask(self, method: str, path: str, to_be: int, body: bytes | None = None, mark: str = "",
             kind: str = "application/json") -> Answer:
        headers = {"Content-Type": kind} if body is not None else {}
        headers |= {"Authorization": f"Bearer {self.token}"} if self.token else {}
        headers |= {"If-Match": mark} if mark else {}
        with closing(http.client.HTTPConnection(self.at, timeout=30)) as line:
            line.request(method, f"/api/v1/{path}", body, headers)
            response = line.getresponse()
            content = response.read()
        assert response.status == to_be, f"{method} {path}: {response.status} {content[:1500].decode()}"
        return Answer(response.status, json.loads(content) if content else None, response.headers.get("ETag", ""))
