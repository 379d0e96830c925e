"""Who may ask the review page's server: only pages that it gave out itself, and only people who were let in.

A browser carries requests for any site that it shows. So a request has to name this server as its host (else another
name was pointed at this machine), and whatever changes or listens has to come from a page of this server (`Origin`).
Where the page is shared beyond this machine, a token is asked for too: one for those who decide, one for guests, who
only look. Values only. Used by `server`.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

#: exact: Bytes of a token: 192 bits cannot be guessed.
TOKEN_BYTES = 24
COOKIE = "scanprep_review"


class Seat(StrEnum):
    """What somebody may do."""

    DECIDES = "decides"
    GUEST = "guest"


@dataclass(frozen=True, slots=True)
class Tokens:
    """The two words that let people in."""

    decides: str
    guest: str


def new_tokens() -> Tokens:
    """Return fresh tokens."""
    return Tokens(secrets.token_urlsafe(TOKEN_BYTES), secrets.token_urlsafe(TOKEN_BYTES))


@dataclass(frozen=True, slots=True)
class Door:
    """What a request has to show.

    hosts   the names and ports under which this server may be asked, such as "127.0.0.1:8642"
    tokens  None: loopback only, whoever sits at this machine decides
    """

    hosts: frozenset[str]
    tokens: Tokens | None = None

    def refusal(self, headers: Mapping[str, str], *, changes: bool) -> str:
        """Return why a request is turned away, as a sentence; empty where it is not.

        changes  it changes something or opens a websocket, where browsers always name the page that asks
        """
        host, origin = headers.get("host", "").lower(), headers.get("origin")
        if host not in self.hosts:
            return "this server is not known by that name. Open the address that the command printed"
        if origin is None and not changes:
            return "" if headers.get("sec-fetch-site", "none") in ("none", "same-origin") or _visited(headers) else (
                "another site's page asked for this. Open the address that the command printed")
        scheme, _, asked_from = (origin or "").partition("://")
        if scheme != "http" or asked_from.lower() not in self.hosts:
            return "this was not asked by a page of this server. Open the address that the command printed"
        return ""

    def seat(self, token: str | None) -> Seat | None:
        """Return what the holder of a token may do; None: not let in."""
        if self.tokens is None:
            return Seat.DECIDES
        given = (token or "").encode()
        # both are compared, so that the time taken says nothing
        decides = hmac.compare_digest(given, self.tokens.decides.encode())
        guest = hmac.compare_digest(given, self.tokens.guest.encode())
        return Seat.DECIDES if decides else Seat.GUEST if guest else None


def _visited(headers: Mapping[str, str]) -> bool:
    """Whether a person followed a link from elsewhere: a whole page opened by itself, not asked for by a script."""
    return headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest") == "document"
