"""How much a form with files may hold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler

from inspections.imaging import MOST_BYTES

MOST_AROUND_IT = 1024 * 1024  # the other fields


class NotTooLarge(FileUploadHandler):
    """Refuses by the announced length, before anything is read: Django would else fill the disk with a file of any
    size, for anybody, at any address that takes a form."""

    def handle_raw_input(self, input_data: Any, META: Mapping[str, Any], content_length: int,
                         boundary: bytes, encoding: str | None = None) -> None:
        if content_length > MOST_BYTES + MOST_AROUND_IT:
            raise RequestDataTooBig(f"A form may hold {MOST_BYTES // 1024 // 1024} MB.")

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        return raw_data

    def file_complete(self, file_size: int) -> UploadedFile | None:
        return None
