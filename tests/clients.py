"""A client that sends a body with a file as a form, as whoever uploads one must."""

from __future__ import annotations

from typing import Any

from django.core.files.uploadedfile import UploadedFile
from rest_framework.test import APIClient


def has_file(body: Any) -> bool:
    return isinstance(body, dict) and any(isinstance(v, UploadedFile) for v in body.values())


class Client(APIClient):
    """Posts JSON; `multipart/form-data` where a body has a file and nothing else is asked for."""

    def post(self, path: Any, data: Any = None, format: Any = None, **how: Any) -> Any:  # noqa: A002
        if has_file(data) and not how.get("content_type"):
            format = format or "multipart"  # noqa: A001
        return super().post(path, data, format=format, **how)
