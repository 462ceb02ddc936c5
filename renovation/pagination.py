"""Page numbers: `?page=` and `?page_size=` up to 200."""

from __future__ import annotations

from rest_framework.pagination import PageNumberPagination


class PageNumbers(PageNumberPagination):
    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 200
