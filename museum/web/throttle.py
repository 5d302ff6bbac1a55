"""How often a program may ask in somebody's name."""

import logging
from typing import TYPE_CHECKING, Any

from redis.exceptions import RedisError
from rest_framework.request import Request
from rest_framework.throttling import UserRateThrottle

if TYPE_CHECKING:
    from rest_framework.views import APIView

log = logging.getLogger(__name__)


class APerson(UserRateThrottle):
    """A program that runs wild in one person's name keeps nobody else waiting. Counted in the cache; without it nothing is counted and all goes on."""

    def allow_request(self, request: Request, view: "APIView") -> Any:
        try:
            return super().allow_request(request, view)
        except (RedisError, OSError) as error:
            log.warning("requests are not counted: the cache does not answer (%s)", type(error).__name__)
            return True
