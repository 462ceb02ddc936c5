"""A cache that may be gone for a minute: what it does not know is worked out again."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

from django.core.cache.backends.redis import RedisCache
from redis.exceptions import RedisError

log = logging.getLogger(__name__)


class ForgivingRedisCache(RedisCache):
    """Redis, but a server that cannot be reached is a cache that knows nothing.

    Nothing rests on it alone: whatever must hold is a constraint of the database.
    """

    def get(self, *args: Any, **kwargs: Any) -> Any:
        return self._tried(super().get, args, kwargs, kwargs.get("default", (*args, None, None)[1]))

    def set(self, *args: Any, **kwargs: Any) -> None:
        self._tried(super().set, args, kwargs, None)

    def add(self, *args: Any, **kwargs: Any) -> bool:
        return bool(self._tried(super().add, args, kwargs, True))

    def touch(self, *args: Any, **kwargs: Any) -> bool:
        return bool(self._tried(super().touch, args, kwargs, False))

    def delete(self, *args: Any, **kwargs: Any) -> bool:
        return bool(self._tried(super().delete, args, kwargs, False))

    def get_many(self, *args: Any, **kwargs: Any) -> Any:
        return self._tried(super().get_many, args, kwargs, {})

    def set_many(self, *args: Any, **kwargs: Any) -> Any:
        return self._tried(super().set_many, args, kwargs, [])

    def delete_many(self, *args: Any, **kwargs: Any) -> None:
        self._tried(super().delete_many, args, kwargs, None)

    def has_key(self, *args: Any, **kwargs: Any) -> bool:
        return bool(self._tried(super().has_key, args, kwargs, False))

    def incr(self, *args: Any, **kwargs: Any) -> int:
        return int(self._tried(super().incr, args, kwargs, 1))

    def clear(self) -> None:
        self._tried(super().clear, (), {}, None)

    @staticmethod
    def _tried(
        ask: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any], otherwise: Any
    ) -> Any:
        try:
            return ask(*args, **kwargs)
        except RedisError as exc:
            log.warning("the cache does not answer: %s", exc)
            return otherwise
