"""Page numbers: `?page=` and `?page_size=` up to 200."""

from __future__ import annotations

from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request

from renovation.errors import field_problem


class PageNumbers(PageNumberPagination):
    """A page past the end is a 404; a larger size than 200 gets 200."""

    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 200

    def get_page_size(self, request: Request) -> int:
        asked = request.query_params.get(self.page_size_query_param)
        if asked is None:
            return self.page_size
        if not (asked.isascii() and asked.isdigit() and 0 < len(asked) <= 9 and int(asked) > 0):
            raise field_problem("/page_size", "A page size is a whole number from 1 to 200.")
        return min(int(asked), self.max_page_size)
